#include "fields.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include <canalrule/base/refusal.hpp>

#include "json_text.hpp"
#include "shorten.hpp"

namespace canalrule {

namespace {

constexpr std::size_t most_items = 100000;  // a path is drawn by hand; chosen here
constexpr std::size_t longest_text = 4096;  // bytes; chosen here
constexpr Range pixels{-1e6, 1e6};          // a mark may lie beside the film; chosen here

/// Letters to put in, leave out or change to make one word of another (Levenshtein, Sov Phys Dokl 1966;10:707).
std::size_t letters_apart(std::string_view one, std::string_view other) {
  std::vector<std::size_t> row(other.size() + 1);
  for (std::size_t j = 0; j < row.size(); ++j) row[j] = j;
  for (std::size_t i = 0; i < one.size(); ++i) {
    std::size_t before = std::exchange(row[0], i + 1);
    for (std::size_t j = 0; j < other.size(); ++j) {
      const std::size_t changed = before + (one[i] == other[j] ? 0 : 1);
      before = row[j + 1];
      row[j + 1] = std::min({changed, before + 1, row[j] + 1});
    }
  }
  return row.back();
}

/// Whether a key may be meant for a known one: a slip of the keyboard, or the unit left out. Chosen here;
/// tests/unit/record/test_parse_reading.cpp.
bool look_alike(std::string_view key, std::string_view known) {
  constexpr std::size_t slips = 2, shortest = 5, longest = 64;
  if (known.starts_with(key) && known.substr(key.size()) == "_mm") return true;
  return known.size() >= shortest && key.size() >= shortest - 1 && key.size() <= longest &&
         letters_apart(key, known) <= slips;
}

std::string found_text(const nlohmann::json& value) {
  switch (value.type()) {
    case nlohmann::json::value_t::object: return "an object";
    case nlohmann::json::value_t::array: return "an array of " + std::to_string(value.size());
    case nlohmann::json::value_t::string: return "'" + shorten(value.get_ref<const std::string&>()) + "'";
    default: return value.dump();
  }
}

std::string plain(double number) {
  std::string text = write_json(nlohmann::ordered_json(number));
  text.pop_back();
  return text;
}

std::string described(const Range& range, const std::string& kind) {
  const bool open = range.lower_edge == Range::Edge::open;
  if (range.most >= 1e9)
    return kind + (range.least <= -1e9 ? "" : (open ? " above " : " of at least ") + plain(range.least));
  return kind + (open ? " above " : " from ") + plain(range.least) + (open ? ", at most " : " to ") +
         plain(range.most);
}

double length_px(const Polyline& line) {
  double length = 0.0;
  for (std::size_t i = 1; i < line.size(); ++i)
    length += std::hypot(line[i].x - line[i - 1].x, line[i].y - line[i - 1].y);
  return length;
}

}  // namespace

void Field::refuse(const std::string& problem, const std::string& remedy) const {
  throw Refusal(RefusalKind::unusable_input, *file_, pointer_, problem, remedy);
}

void Field::refuse(const std::string& expected) const {
  refuse("found " + found_text(*value_), "expected " + expected);
}

void Field::expect_schema(std::string_view schema) const {
  const Field field = (*this)["schema"];
  if (field.text() != schema) field.refuse("'" + std::string(schema) + "', the one version that is known");
}

std::optional<Field> Field::find(std::string_view key) const {
  if (!value_->is_object()) refuse("an object");
  const auto member = value_->find(std::string(key));
  if (member == value_->end()) return std::nullopt;
  return Field(*member, *file_, pointer_ + "/" + std::string(key));
}

void Field::only(std::initializer_list<std::string_view> keys) const {
  if (!value_->is_object()) refuse("an object");
  for (const auto& [key, value] : value_->items())
    if (std::find(keys.begin(), keys.end(), key) == keys.end()) {
      std::string known;
      for (const std::string_view word : keys) known += (known.empty() ? "" : ", ") + std::string(word);
      refuse("the key '" + shorten(key) + "' means nothing here", "known are " + known);
    }
}

void Field::find_misspelt(std::initializer_list<std::string_view> keys, std::vector<Misspelt>& found) const {
  if (!value_->is_object()) return;
  for (const auto& [key, value] : value_->items()) {
    if (std::find(keys.begin(), keys.end(), key) != keys.end()) continue;
    for (const std::string_view known : keys)
      if (!value_->contains(known) && look_alike(key, known)) {
        found.push_back({pointer_ + "/" + shorten(key), std::string(known)});
        break;
      }
  }
}

Field Field::operator[](std::string_view key) const {
  if (std::optional<Field> field = find(key)) return *field;
  throw Refusal(RefusalKind::unusable_input, *file_, pointer_ + "/" + std::string(key),
                "this field is missing", "add it");
}

std::vector<Field> Field::items(std::size_t fewest) const {
  if (!value_->is_array() || value_->size() < fewest)
    refuse(fewest == 0 ? "an array" : "an array of " + std::to_string(fewest) + " or more");
  if (value_->size() > most_items) refuse("an array of at most " + std::to_string(most_items));
  std::vector<Field> fields;
  fields.reserve(value_->size());
  for (const nlohmann::json& item : *value_)
    fields.push_back(Field(item, *file_, pointer_ + "/" + std::to_string(fields.size())));
  return fields;
}

double Field::number(const Range& range) const {
  if (!value_->is_number()) refuse(described(range, "a number"));
  const double number = value_->get<double>();
  const bool below = range.lower_edge == Range::Edge::open ? number <= range.least : number < range.least;
  if (!std::isfinite(number) || below || number > range.most) refuse(described(range, "a number"));
  return number;
}

int Field::integer(int least, int most) const {
  const Range range{static_cast<double>(least), static_cast<double>(most)};
  if (!value_->is_number()) refuse(described(range, "a whole number"));
  const double number = value_->get<double>();
  if (!(number >= range.least && number <= range.most) || std::trunc(number) != number)
    refuse(described(range, "a whole number"));
  return static_cast<int>(number);
}

bool Field::truth() const {
  if (!value_->is_boolean()) refuse("true or false");
  return value_->get<bool>();
}

std::string Field::text() const {
  if (!value_->is_string()) refuse("text");
  const std::string& text = value_->get_ref<const std::string&>();
  const bool one_line = std::none_of(text.begin(), text.end(), [](char c) {
    return static_cast<unsigned char>(c) < 0x20U || c == 0x7F;
  });
  if (!one_line) refuse("one line of text without control characters");
  if (text.size() > longest_text) refuse("text of at most " + std::to_string(longest_text) + " bytes");
  return text;
}

std::string Field::text_not_empty() const {
  std::string found = text();
  if (found.find_first_not_of(' ') == std::string::npos) refuse("text that is not empty");
  return found;
}

Point Field::point() const {
  if (!value_->is_array() || value_->size() != 2) refuse("a point [x, y] in pixels");
  const std::vector<Field> coordinates = items();
  return {coordinates[0].number(pixels), coordinates[1].number(pixels)};
}

Polyline Field::polyline(std::size_t fewest) const {
  Polyline line;
  if (!value_->is_array() || value_->size() < fewest)
    refuse("an array of " + std::to_string(fewest) + " or more points [x, y] in pixels");
  for (const Field& item : items()) line.push_back(item.point());
  if (length_px(line) < 1.0)
    refuse("the points lie all on one place", "expected points that are a pixel or more apart");
  return line;
}

Polyline Field::polyline_of(std::size_t exactly) const {
  if (value_->is_array() && value_->size() != exactly)
    refuse("exactly " + std::to_string(exactly) + " points [x, y] in pixels");
  return polyline(exactly);
}

}  // namespace canalrule
