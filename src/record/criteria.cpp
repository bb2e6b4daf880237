#include <canalrule/record/criteria.hpp>

#include <cstdint>
#include <set>

#include <canalrule/base/whole_file.hpp>

#include "fields.hpp"
#include "json_text.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

using Edge = Range::Edge;
using Figure = CriterionFigure;

constexpr Words<Figure, 14> figure_words{{
    {Figure::terminus_to_apex_mm, "terminus_to_apex_mm"},
    {Figure::longest_void_mm, "longest_void_mm"},
    {Figure::void_count, "void_count"},
    {Figure::largest_void_deficit, "largest_void_deficit"},
    {Figure::taper_overall, "taper_overall"},
    {Figure::taper_apical, "taper_apical"},
    {Figure::taper_middle, "taper_middle"},
    {Figure::taper_coronal, "taper_coronal"},
    {Figure::narrowing_towards_crown_mm, "narrowing_towards_crown_mm"},
    {Figure::taper_step_mm, "taper_step_mm"},
    {Figure::material_beyond_apex_mm, "material_beyond_apex_mm"},
    {Figure::width_against_plan_mm, "width_against_plan_mm"},
    {Figure::terminus_to_working_length_mm, "terminus_to_working_length_mm"},
    {Figure::filled_length_mm, "filled_length_mm"},
}};

bool on_voids(Figure figure) {
  return figure == Figure::longest_void_mm || figure == Figure::void_count ||
         figure == Figure::largest_void_deficit;
}

bool upper_limit_only(Figure figure) {
  return on_voids(figure) || figure == Figure::narrowing_towards_crown_mm ||
         figure == Figure::taper_step_mm || figure == Figure::material_beyond_apex_mm;
}

std::optional<Limit> limit(const Field& criterion, const char* inclusive_key, const char* exclusive_key) {
  const std::optional<Field> inclusive = criterion.find(inclusive_key);
  const std::optional<Field> exclusive = criterion.find(exclusive_key);
  if (inclusive && exclusive)
    exclusive->refuse(std::string("stands beside ") + inclusive_key, "keep one of the two");
  if (inclusive) return Limit{inclusive->number(any_number), true};
  if (exclusive) return Limit{exclusive->number(any_number), false};
  return std::nullopt;
}

double number_or_none(const Field& owner, std::string_view key, const Range& range) {
  const std::optional<Field> field = owner.find(key);
  return field ? field->number(range) : 0.0;
}

VoidSelection void_selection(const Field& field) {
  VoidSelection selection;
  selection.least_score = field["score_at_least"].number({0.0, 1000.0, Edge::open});
  selection.least_length_mm = number_or_none(field, "length_at_least_mm", {0.0, 100.0});
  selection.least_deficit = number_or_none(field, "deficit_at_least", {0.0, 1.0});
  if (const std::optional<Field> third = field.find("third")) selection.third = third->word(third_words);
  return selection;
}

Criterion one_criterion(const Field& field) {
  Criterion criterion;
  criterion.id = field["id"].text_not_empty();
  criterion.text = field["text"].text_not_empty();
  criterion.figure = field["figure"].word(figure_words);
  criterion.lower = limit(field, "at_least", "more_than");
  criterion.upper = limit(field, "at_most", "less_than");
  if (!criterion.lower && !criterion.upper)
    field.refuse("this criterion has no limit", "give it at_least, more_than, at_most or less_than");
  if (upper_limit_only(criterion.figure) && criterion.lower)
    field.refuse("this figure is the largest of all that was found and has a lower limit",
                 "give it at_most or less_than alone");
  if (criterion.lower && criterion.upper) {
    const bool one_value = criterion.lower->value == criterion.upper->value && criterion.lower->inclusive &&
                           criterion.upper->inclusive;
    if (criterion.lower->value >= criterion.upper->value && !one_value)
      field.refuse("the limits leave nothing between them", "put the smaller one below");
  }
  if (on_voids(criterion.figure)) criterion.voids = void_selection(field["voids"]);
  return criterion;
}

}  // namespace

Criteria parse_criteria(std::string_view json, const std::string& name) {
  const nlohmann::json document = parse_json(json, name);
  const Field root(document, name);
  root.expect_schema("canalrule.criteria/1");
  Criteria criteria;
  criteria.name = root["name"].text_not_empty();
  criteria.version = root["version"].text_not_empty();
  criteria.source = root["source"].text_not_empty();
  if (const std::optional<Field> note = root.find("note")) criteria.note = note->text();
  const Field confidence = root["confidence"];
  criteria.confidence = confidence.number({0.5, 1.0, Edge::open});
  if (criteria.confidence >= 1.0) confidence.refuse("a number above 0.5, below 1");
  std::set<std::string> ids;
  for (const Field& item : root["criteria"].items(1)) {
    criteria.criteria.push_back(one_criterion(item));
    if (!ids.insert(criteria.criteria.back().id).second)
      item["id"].refuse("this id stands on two criteria", "give each its own");
  }
  return criteria;
}

Criteria load_criteria(const std::filesystem::path& file) {
  constexpr std::uint64_t limit_bytes = std::uint64_t{1} << 20;
  const std::vector<std::uint8_t> bytes = read_whole(file, limit_bytes);
  return parse_criteria(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()),
                        file.string());
}

}  // namespace canalrule
