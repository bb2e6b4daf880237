#include <canalrule/record/reading.hpp>

#include <algorithm>
#include <cstdint>
#include <set>
#include <utility>

#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/tooth.hpp>

#include "fields.hpp"
#include "json_text.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

using Edge = Range::Edge;

// Bounds beyond which a value is a slip of the pen (a wrong unit, mostly); chosen here, and wide: the
// longest instruments of ISO 3630-1 have 31 mm, the widest 1.4 mm, the steepest tapers 0.12 (from memory).
constexpr Range object_length_mm{0.0, 100.0, Edge::open};
constexpr Range object_width_mm{0.0, 10.0, Edge::open};
constexpr Range uncertainty_mm{0.0, 10.0, Edge::open};
constexpr Range canal_length_mm{0.0, 100.0, Edge::open};
constexpr Range taper_mm_per_mm{0.0, steepest_taper};
constexpr int most_pixels_per_side = 100'000'000;

template <class Read>
auto optional(const Field& owner, std::string_view key, Read read)
    -> std::optional<decltype(read(std::declval<const Field&>()))> {
  if (const std::optional<Field> field = owner.find(key)) return read(*field);
  return std::nullopt;
}

std::optional<double> optional_number(const Field& owner, std::string_view key, const Range& range) {
  return optional(owner, key, [&](const Field& field) { return field.number(range); });
}

std::string sha256(const Field& field) {
  std::string digits = field.text();
  std::transform(digits.begin(), digits.end(), digits.begin(),
                 [](char c) { return c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c; });
  const bool hexadecimal = std::all_of(
      digits.begin(), digits.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
  if (digits.size() != 64 || !hexadecimal) field.refuse("64 hexadecimal digits");
  return digits;
}

ImageReference image_reference(const Field& image) {
  const auto side = [](const Field& field) { return field.integer(1, most_pixels_per_side); };
  return {image["file"].text_not_empty(), optional(image, "sha256", sha256), optional(image, "columns", side),
          optional(image, "rows", side)};
}

std::string tooth(const Field& field) {
  std::string digits = field.text();
  if (!digits.empty() && !is_tooth(digits))
    field.refuse("a tooth by ISO 3950, '11' to '48' or '51' to '85', or empty text");
  return digits;
}

KnownLength known_length(const Field& mark) {
  return {mark["points"].polyline(2), mark["length_mm"].number(object_length_mm),
          optional_number(mark, "length_uncertainty_mm", uncertainty_mm)};
}

KnownWidth known_width(const Field& mark) {
  return {mark["points"].polyline_of(2), mark["width_mm"].number(object_width_mm),
          optional_number(mark, "width_uncertainty_mm", uncertainty_mm)};
}

CarriedLength carried_length(const Field& mark) {
  const Field from = mark["from"];
  return {mark["points"].polyline_of(2), from["reading"].text_not_empty(), from["points"].polyline_of(2)};
}

ScaleMark scale_mark(const Field& mark) {
  enum class Kind { length, width, carried };
  constexpr Words<Kind, 3> kinds{{
      {Kind::length, "known-length"}, {Kind::width, "known-width"}, {Kind::carried, "carried-length"}}};
  switch (mark["kind"].word(kinds)) {
    case Kind::length: return known_length(mark);
    case Kind::width: return known_width(mark);
    case Kind::carried: break;
  }
  return carried_length(mark);
}

Planned planned(const Field& plan) {
  return {optional_number(plan, "tip_diameter_mm", object_width_mm),
          optional_number(plan, "taper", taper_mm_per_mm),
          optional_number(plan, "working_length_mm", canal_length_mm),
          optional_number(plan, "backfill_from_mm", canal_length_mm)};
}

/// As many as a standard deviation's own uncertainty needs (JCGM 101:2008, 6.4.9: more than 3 in all).
Polyline repeated_marks(const Field& field) {
  Polyline marks;
  for (const Field& item : field.items(3)) marks.push_back(item.point());
  return marks;
}

CanalMarks canal_marks(const Field& canal) {
  return {canal["name"].text_not_empty(), canal["path"].polyline(2), canal["apex"].point(),
          optional_number(canal, "apex_uncertainty_mm", uncertainty_mm), optional(canal, "planned", planned),
          optional(canal, "coronal_reference", [](const Field& field) { return field.point(); }),
          optional(canal, "apex_marks", repeated_marks).value_or(Polyline{}),
          optional(canal, "line", [](const Field& field) { return field.word(line_words); })
              .value_or(LineSource::drawn)};
}

std::vector<CanalMarks> all_canals(const Field& list, std::size_t fewest) {
  std::vector<CanalMarks> canals;
  std::set<std::string> names;
  for (const Field& item : list.items(fewest)) {
    canals.push_back(canal_marks(item));
    if (!names.insert(canals.back().name).second)
      item["name"].refuse("the name '" + canals.back().name + "' stands on two canals",
                          "give each canal its own");
  }
  return canals;
}

/// Keys of which a misspelt one would change a figure without a word.
std::vector<MisspeltField> misspelt_fields(const Field& root) {
  std::vector<Field::Misspelt> found;
  root.find_misspelt({"schema", "image", "reader", "tooth", "radiopaque", "response", "scale", "canals", "note",
                      "not_assessable"}, found);
  if (const std::optional<Field> scale = root.find("scale"))
    for (const Field& mark : scale->items())
      mark.find_misspelt({"kind", "points", "length_mm", "length_uncertainty_mm", "width_mm", "width_uncertainty_mm",
                          "from"}, found);
  for (const Field& canal : root["canals"].items()) {
    canal.find_misspelt({"name", "path", "apex", "apex_uncertainty_mm", "planned", "coronal_reference", "apex_marks",
                         "line"}, found);
    if (const std::optional<Field> plan = canal.find("planned"))
      plan->find_misspelt({"tip_diameter_mm", "taper", "working_length_mm", "backfill_from_mm"}, found);
  }
  std::vector<MisspeltField> fields;
  for (const Field::Misspelt& one : found) fields.push_back({one.pointer, one.expected});
  return fields;
}

}  // namespace

Reading parse_reading(std::string_view json, const std::string& name) {
  const auto document = std::make_shared<const nlohmann::json>(parse_json(json, name));
  const Field root(*document, name);
  root.expect_schema("canalrule.reading/1");
  const auto text = [](const Field& field) { return field.text(); };
  Reading reading;
  reading.image = image_reference(root["image"]);
  reading.reader = optional(root, "reader", text).value_or("");
  reading.tooth = optional(root, "tooth", tooth).value_or("");
  reading.radiopaque =
      optional(root, "radiopaque", [](const Field& field) { return field.word(radiopaque_words); });
  reading.response =
      optional(root, "response", [](const Field& field) { return field.word(response_words); });
  if (const std::optional<Field> scale = root.find("scale"))
    for (const Field& item : scale->items()) reading.scale.push_back(scale_mark(item));
  reading.note = optional(root, "note", text).value_or("");
  reading.not_assessable =
      optional(root, "not_assessable", [](const Field& field) { return field.text_not_empty(); });
  reading.canals = all_canals(root["canals"], reading.not_assessable ? 0 : 1);
  reading.misspelt = misspelt_fields(root);
  reading.document = document;
  return reading;
}

Reading load_reading(const std::filesystem::path& file) {
  const std::vector<std::uint8_t> bytes = read_whole(file, largest_reading_bytes);
  return parse_reading(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()),
                       file.string());
}

}  // namespace canalrule
