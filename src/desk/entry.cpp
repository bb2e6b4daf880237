#include <canalrule/desk/entry.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cstddef>
#include <utility>
#include <vector>

#include <canalrule/record/reading.hpp>

namespace canalrule::desk {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

/// Without the unit behind it, where it is there.
std::string_view without(std::string_view text, std::string_view unit) {
  text = trimmed(text);
  if (text.ends_with(unit)) text.remove_suffix(unit.size());
  return trimmed(text);
}

/// Digits with at most one separator, at most 12 in all; no sign: lengths and shares have none.
std::optional<double> number(std::string_view text) {
  std::string digits;
  int separators = 0, figures = 0;
  for (const char c : text) {
    if (is_digit(c)) {
      ++figures;
      digits += c;
    } else if (c == '.' || c == ',') {
      ++separators;
      digits += '.';
    } else {
      return std::nullopt;
    }
  }
  if (figures == 0 || figures > 12 || separators > 1) return std::nullopt;
  if (digits.front() == '.') digits.insert(digits.begin(), '0');
  double value = 0.0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (read.ec != std::errc{}) return std::nullopt;
  return value;
}

}  // namespace

std::optional<double> entered_mm(std::string_view text) { return number(without(text, "mm")); }

std::optional<double> entered_taper(std::string_view text) {
  const std::string_view share = trimmed(text);
  std::optional<double> value = number(without(share, "%"));
  if (value && share.ends_with('%')) value = *value / 100.0;
  return value && *value <= steepest_taper ? value : std::nullopt;
}

std::string shown_number(double value, int most_decimals) {
  std::array<char, 64> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, most_decimals);
  std::string shown(text.data(), written.ptr);
  if (shown.find('.') != std::string::npos) {
    shown.erase(shown.find_last_not_of('0') + 1);
    if (shown.back() == '.') shown.pop_back();
  }
  return shown == "-0" ? "0" : shown;
}

}  // namespace canalrule::desk
