#include <canalrule/record/criteria.hpp>

#include <cstdint>
#include <set>

#include <canalrule/base/whole_file.hpp>

#include "criterion_fields.hpp"
#include "fields.hpp"
#include "json_text.hpp"

namespace canalrule {

namespace {

using Edge = Range::Edge;

Criterion one_criterion(const Field& field) {
  field.only({"id", "text", "figure", "at_least", "more_than", "at_most", "less_than", "voids"});
  Criterion criterion;
  criterion.id = field["id"].text_not_empty();
  criterion.text = field["text"].text_not_empty();
  criterion.figure = field["figure"].word(figure_words);
  const Limits limits = limits_of(field);
  criterion.lower = limits.lower;
  criterion.upper = limits.upper;
  if (!criterion.lower && !criterion.upper)
    field.refuse("this criterion has no limit", "give it at_least, more_than, at_most or less_than");
  if (upper_limit_only(criterion.figure) && criterion.lower)
    field.refuse("this figure is the largest of all that was found and has a lower limit",
                 "give it at_most or less_than alone");
  if (upper_limit_only(criterion.figure) && criterion.upper &&
      (criterion.upper->inclusive ? criterion.upper->value < 0.0 : criterion.upper->value <= 0.0))
    field.refuse("no fill could keep this limit", "this figure is 0 or more: give it a limit that leaves room for 0");
  if (on_voids(criterion.figure))
    criterion.voids = void_selection(field["voids"]);
  else if (const std::optional<Field> voids = field.find("voids"))
    voids->refuse("this criterion doesn't look at voids", "leave it out, or name a figure of voids");
  return criterion;
}

}  // namespace

Criteria parse_criteria(std::string_view json, const std::string& name) {
  const nlohmann::json document = parse_json(json, name);
  const Field root(document, name);
  root.expect_schema("canalrule.criteria/1");
  root.only({"schema", "name", "version", "source", "note", "confidence", "criteria"});
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
