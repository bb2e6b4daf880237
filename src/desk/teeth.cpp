#include <canalrule/desk/teeth.hpp>

#include <algorithm>
#include <array>
#include <canalrule/record/tooth.hpp>
#include <utility>

namespace canalrule::desk {

namespace {

/// Abbreviations of the trade; common practice, no source.
constexpr std::array<std::pair<std::string_view, std::string_view>, 14> meanings{
    {{"B", "buccal"},
     {"P", "palatal"},
     {"L", "lingual"},
     {"M", "mesial"},
     {"D", "distal"},
     {"MB", "mesiobuccal"},
     {"MB1", "first mesiobuccal"},
     {"MB2", "second mesiobuccal"},
     {"ML", "mesiolingual"},
     {"MM", "middle mesial"},
     {"DB", "distobuccal"},
     {"DL", "distolingual"},
     {"MP", "mesiopalatal"},
     {"DP", "distopalatal"}}};

const std::vector<std::string> numbers{"1", "2", "3", "4"};

/// Canals that are commonly found, by the tooth's second digit; the usual ones first. Common practice, no
/// source.
std::vector<std::string> permanent(bool upper, char position) {
  if (position <= '3') return upper ? numbers : std::vector<std::string>{"1", "B", "L"};
  if (position == '4')
    return upper ? std::vector<std::string>{"B", "P", "MB", "DB"} : std::vector<std::string>{"1", "B", "L"};
  if (position == '5')
    return upper ? std::vector<std::string>{"1", "B", "P"} : std::vector<std::string>{"1", "B", "L"};
  if (upper) return {"MB", "DB", "P", "MB2", "DP", "MP"};
  return {"MB", "ML", "D", "DB", "DL", "MM"};
}

std::vector<std::string> deciduous(bool upper, char position) {
  if (position <= '3') return {"1"};
  if (upper) return {"MB", "DB", "P", "MB2"};
  return {"MB", "ML", "D", "DB", "DL"};
}

}  // namespace

std::vector<std::vector<std::string>> tooth_chart() {
  const auto row = [](char right, char left, char teeth) {
    std::vector<std::string> chart;
    for (char tooth = teeth; tooth >= '1'; --tooth) chart.push_back({right, tooth});
    for (char tooth = '1'; tooth <= teeth; ++tooth) chart.push_back({left, tooth});
    return chart;
  };
  return {row('1', '2', '8'), row('4', '3', '8'), row('5', '6', '5'), row('8', '7', '5')};
}

std::vector<std::string> canal_names(std::string_view tooth) {
  if (!is_tooth(tooth)) return numbers;
  const char quadrant = tooth[0];
  const bool upper = quadrant == '1' || quadrant == '2' || quadrant == '5' || quadrant == '6';
  return quadrant <= '4' ? permanent(upper, tooth[1]) : deciduous(upper, tooth[1]);
}

std::string meaning_of(std::string_view name) {
  for (const auto& [abbreviation, meaning] : meanings)
    if (abbreviation == name) return std::string(meaning);
  return {};
}

std::string free_canal_name(std::string_view tooth, const std::vector<std::string>& taken) {
  const auto is_free = [&](const std::string& name) {
    return std::find(taken.begin(), taken.end(), name) == taken.end();
  };
  for (const std::string& name : canal_names(tooth))
    if (is_free(name)) return name;
  int number = 1;
  while (!is_free(std::to_string(number))) ++number;
  return std::to_string(number);
}

}  // namespace canalrule::desk
