#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/rubric.hpp>
#include <cstdint>
#include <set>

#include "criterion_fields.hpp"
#include "fields.hpp"
#include "json_text.hpp"
#include "rubric_bands.hpp"
#include "rubric_words.hpp"

namespace canalrule {

namespace {

using Edge = Range::Edge;

constexpr Range percent{0.0, 100.0};
constexpr Range points_above_0{0.0, 1000.0, Edge::open};

Looked looked_at(const Field& owner) {
  const Field field = owner["figure"];
  Looked looked;
  looked.figure = figure_of(field);
  const auto* measured = std::get_if<CriterionFigure>(&looked.figure);
  if (measured != nullptr && on_voids(*measured))
    looked.voids = void_selection(owner["voids"]);
  else if (const std::optional<Field> voids = owner.find("voids"))
    voids->refuse("this figure is not one of voids", "leave it out");
  return looked;
}

Band one_band(const Field& field, double most) {
  field.only({"at_least", "more_than", "at_most", "less_than", "points", "text"});
  const Limits limits = limits_of(field);
  return {limits.lower, limits.upper, field["points"].number({0.0, most}), field["text"].text_not_empty()};
}

RubricCriterion one_criterion(const Field& field) {
  field.only({"id", "text", "figure", "voids", "points", "bands", "not_assessable"});
  RubricCriterion criterion;
  criterion.id = field["id"].text_not_empty();
  criterion.text = field["text"].text_not_empty();
  criterion.looked = looked_at(field);
  criterion.points = field["points"].number(points_above_0);
  for (const Field& item : field["bands"].items(1))
    criterion.bands.push_back(one_band(item, criterion.points));
  check_bands(criterion, field["bands"]);
  if (const std::optional<Field> rule = field.find("not_assessable"))
    criterion.not_assessable = rule->word(unassessed_words);
  return criterion;
}

MeasuredCondition measured_condition(const Field& field) {
  MeasuredCondition condition;
  condition.looked = looked_at(field);
  const Limits limits = limits_of(field);
  condition.lower = limits.lower;
  condition.upper = limits.upper;
  check_condition(condition, field);
  return condition;
}

RubricCondition one_condition(const Field& field) {
  RubricCondition condition;
  condition.id = field["id"].text_not_empty();
  condition.text = field["text"].text_not_empty();
  const std::optional<Field> column = field.find("observed");
  if (column && field.find("figure")) column->refuse("stands beside figure", "keep one of the two");
  if (column)
    condition.when = ObservedCondition{column->text_not_empty()};
  else
    condition.when = measured_condition(field);
  return condition;
}

RubricCondition one_deduction(const Field& field) {
  field.only({"id", "text", "figure", "voids", "observed", "at_least", "more_than", "at_most", "less_than",
              "points"});
  RubricCondition deduction = one_condition(field);
  deduction.points = field["points"].number(points_above_0);
  return deduction;
}

RubricCondition one_fail(const Field& field) {
  field.only({"id", "text", "figure", "voids", "observed", "at_least", "more_than", "at_most", "less_than"});
  return one_condition(field);
}

template <class Item>
void add(std::vector<Item>& items, Item item, const Field& field, std::set<std::string>& ids) {
  if (!ids.insert(item.id).second)
    field["id"].refuse("this id stands twice", "give each criterion, deduction and automatic fail its own");
  items.push_back(std::move(item));
}

std::vector<Field> items_if_any(const Field& root, std::string_view key) {
  const std::optional<Field> list = root.find(key);
  return list ? list->items() : std::vector<Field>{};
}

}  // namespace

double Rubric::most_points() const {
  double sum = 0.0;
  for (const RubricCriterion& criterion : criteria) sum += criterion.points;
  return sum;
}

Rubric parse_rubric(std::string_view json, const std::string& name) {
  const nlohmann::json document = parse_json(json, name);
  const Field root(document, name);
  root.expect_schema("canalrule.rubric/1");
  root.only({"schema", "name", "version", "source", "note", "confidence", "pass_mark_percent",
             "too_close_to_call", "not_assessable", "least_assessed_percent", "automatic_fail_percent",
             "several_canals", "criteria", "deductions", "automatic_fails"});
  Rubric rubric;
  rubric.name = root["name"].text_not_empty();
  rubric.version = root["version"].text_not_empty();
  rubric.source = root["source"].text_not_empty();
  if (const std::optional<Field> note = root.find("note")) rubric.note = note->text();
  const Field confidence = root["confidence"];
  rubric.confidence = confidence.number({0.5, 1.0, Edge::open});
  if (rubric.confidence >= 1.0) confidence.refuse("a number above 0.5, below 1");
  rubric.pass_mark_percent = root["pass_mark_percent"].number(percent);
  if (const std::optional<Field> rule = root.find("too_close_to_call"))
    rubric.too_close_to_call = rule->word(close_call_words);
  if (const std::optional<Field> rule = root.find("not_assessable"))
    rubric.not_assessable = rule->word(unassessed_words);
  if (const std::optional<Field> least = root.find("least_assessed_percent"))
    rubric.least_assessed_percent = least->number(percent);
  if (const std::optional<Field> most = root.find("automatic_fail_percent")) {
    rubric.automatic_fail_percent = most->number(percent);
    if (rubric.automatic_fail_percent >= rubric.pass_mark_percent)
      most->refuse("an automatic fail would pass", "set it below pass_mark_percent");
  }
  if (const std::optional<Field> rule = root.find("several_canals"))
    rubric.several_canals = rule->word(several_canals_words);
  std::set<std::string> ids;
  for (const Field& item : root["criteria"].items(1)) add(rubric.criteria, one_criterion(item), item, ids);
  for (const Field& item : items_if_any(root, "deductions")) {
    add(rubric.deductions, one_deduction(item), item, ids);
    check_against_criteria(rubric.deductions.back(), rubric.criteria, item);
  }
  for (const Field& item : items_if_any(root, "automatic_fails")) {
    add(rubric.automatic_fails, one_fail(item), item, ids);
    check_against_criteria(rubric.automatic_fails.back(), rubric.criteria, item);
  }
  return rubric;
}

Rubric load_rubric(const std::filesystem::path& file) {
  constexpr std::uint64_t limit_bytes = std::uint64_t{1} << 20;
  const std::vector<std::uint8_t> bytes = read_whole(file, limit_bytes);
  return parse_rubric(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()),
                      file.string());
}

}  // namespace canalrule
