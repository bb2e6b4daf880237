#include <canalrule/base/fault.hpp>
#include <canalrule/record/marks.hpp>
#include <cmath>

#include "feedback_words.hpp"
#include "json_text.hpp"
#include "marks_words.hpp"
#include "rubric_words.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

using nlohmann::ordered_json;

/// Finer than any uncertainty, coarse enough that the last digits of floating point don't show.
ordered_json number(double value, int decimals) {
  ensure(std::isfinite(value), "every number of a mark is finite");
  const double steps = std::pow(10.0, decimals);
  return std::round(value * steps) / steps;
}
constexpr int figure_decimals = 5;
constexpr int chance_decimals = 4;
constexpr int points_decimals = 4;

ordered_json points(double value) { return number(value, points_decimals); }
ordered_json points(const std::optional<double>& value) {
  return value ? points(*value) : ordered_json(nullptr);
}

void put(ordered_json& out, const std::optional<Quantity>& figure, std::string_view unit) {
  out["figure"] = figure ? number(figure->value, figure_decimals) : ordered_json(nullptr);
  out["standard_uncertainty"] =
      figure ? number(figure->standard_uncertainty, figure_decimals) : ordered_json(nullptr);
  out["unit"] = unit;
}

void put_limits(ordered_json& out, const std::optional<Limit>& lower, const std::optional<Limit>& upper) {
  if (lower) out[lower->inclusive ? "at_least" : "more_than"] = lower->value;
  if (upper) out[upper->inclusive ? "at_most" : "less_than"] = upper->value;
}

ordered_json award_json(const Award& award, const RubricCriterion& criterion) {
  ordered_json out;
  out["canal"] = award.canal;
  put(out, award.figure, unit_of(criterion.looked.figure));
  out["bands"] = ordered_json::array();
  for (std::size_t i = 0; i < award.chance.size(); ++i) {
    const Band& band = criterion.bands[i];
    ordered_json item;
    put_limits(item, band.lower, band.upper);
    item["points"] = points(band.points);
    item["chance"] = number(award.chance[i], chance_decimals);
    item["text"] = band.text;
    out["bands"].push_back(item);
  }
  out["band"] = award.band ? ordered_json(*award.band) : ordered_json(nullptr);
  out["points"] = points(award.points);
  out["least_points"] = points(award.least_points);
  out["most_points"] = points(award.most_points);
  out["sureness"] = word_of(sureness_words, award.sureness);
  out["reason"] = award.reason;
  return out;
}

ordered_json criterion_json(const CriterionMark& mark, const RubricCriterion& criterion) {
  ordered_json out{{"id", mark.id}, {"text", criterion.text}};
  out["looks_at"] = word_of(criterion.looked.figure);
  out["of"] = points(criterion.points);
  out["points"] = points(mark.points);
  out["least_points"] = points(mark.least_points);
  out["most_points"] = points(mark.most_points);
  out["sureness"] = word_of(sureness_words, mark.sureness);
  out["canals"] = ordered_json::array();
  for (const Award& award : mark.awards) out["canals"].push_back(award_json(award, criterion));
  return out;
}

ordered_json conditions_json(const std::vector<ConditionMark>& marks,
                             const std::vector<RubricCondition>& conditions) {
  ordered_json all = ordered_json::array();
  for (std::size_t i = 0; i < marks.size(); ++i) {
    const ConditionMark& mark = marks[i];
    const auto* measured = std::get_if<MeasuredCondition>(&conditions[i].when);
    ordered_json out{{"id", mark.id}, {"text", conditions[i].text}};
    out["looks_at"] = measured != nullptr ? word_of(measured->looked.figure) : "";
    out["canal"] = mark.canal;
    put(out, mark.figure, measured != nullptr ? unit_of(measured->looked.figure) : "");
    if (measured != nullptr) put_limits(out, measured->lower, measured->upper);
    out["chance"] = mark.chance ? number(*mark.chance, chance_decimals) : ordered_json(nullptr);
    out["applied"] = mark.applied;
    out["points"] = points(mark.points);
    out["sureness"] = word_of(sureness_words, mark.sureness);
    out["reason"] = mark.reason;
    all.push_back(out);
  }
  return all;
}

ordered_json mark_json(const Mark& mark, const Rubric& rubric) {
  ordered_json out;
  out["standing"] = word_of(standing_words, mark.standing);
  out["percent"] = points(mark.percent);
  out["least_percent"] = mark.percent ? points(mark.least_percent) : ordered_json(nullptr);
  out["most_percent"] = mark.percent ? points(mark.most_percent) : ordered_json(nullptr);
  out["standing_is_open"] = mark.standing_is_open;
  out["points"] = points(mark.points);
  out["out_of"] = points(mark.out_of);
  out["assessed_percent"] = points(mark.assessed_percent);
  out["criteria"] = ordered_json::array();
  for (std::size_t i = 0; i < mark.criteria.size(); ++i)
    out["criteria"].push_back(criterion_json(mark.criteria[i], rubric.criteria[i]));
  out["deductions"] = conditions_json(mark.deductions, rubric.deductions);
  out["automatic_fails"] = conditions_json(mark.automatic_fails, rubric.automatic_fails);
  return out;
}

ordered_json advice_json(const Advice& advice) {
  ordered_json out{
      {"fault", word_of(advice.fault)}, {"criterion", advice.criterion}, {"canal", advice.canal}};
  out["from_mm"] = advice.from_mm ? number(*advice.from_mm, 4) : ordered_json(nullptr);
  out["to_mm"] = advice.to_mm ? number(*advice.to_mm, 4) : ordered_json(nullptr);
  out["third"] = advice.third ? ordered_json(word_of(third_words, *advice.third)) : ordered_json(nullptr);
  out["title"] = advice.title;
  out["looks_like"] = advice.looks_like;
  out["where"] = advice.where;
  out["questions"] = ordered_json::array();
  for (const Question& question : advice.questions)
    out["questions"].push_back({{"technique", word_of(question.technique)}, {"question", question.text}});
  return out;
}

ordered_json case_json(const ClassCase& one, const ClassMarks& marks) {
  ordered_json out{{"line", one.line},
                   {"student", one.student},
                   {"case", one.name},
                   {"date", one.date},
                   {"technique", word_of(one.technique)},
                   {"problem", one.problem}};
  const auto reading = [&](const std::optional<MarkedReading>& read) {
    return read ? mark_json(read->mark, marks.rubric) : ordered_json(nullptr);
  };
  out["mark"] = reading(one.teacher);
  out["student_reading"] = reading(one.student_own);
  out["second_reading"] = reading(one.second);
  out["reading_problems"] = one.reading_problems;
  out["before"] = one.earlier ? mark_json(*one.earlier, *marks.earlier) : ordered_json(nullptr);
  out["feedback"] = ordered_json::array();
  for (const Advice& advice : one.advice) out["feedback"].push_back(advice_json(advice));
  out["second_look"] = one.second_look;
  return out;
}

ordered_json rubric_json(const Rubric& rubric) {
  return {{"name", rubric.name},
          {"version", rubric.version},
          {"source", rubric.source},
          {"confidence", rubric.confidence},
          {"pass_mark_percent", rubric.pass_mark_percent},
          {"too_close_to_call", word_of(close_call_words, rubric.too_close_to_call)},
          {"not_assessable", word_of(unassessed_words, rubric.not_assessable)},
          {"several_canals", word_of(several_canals_words, rubric.several_canals)},
          {"points", points(rubric.most_points())}};
}

}  // namespace

std::string write_marks(const ClassMarks& marks) {
  ordered_json out{
      {"schema", "canalrule.marks/1"}, {"program", marks.program}, {"list_sha256", marks.list_sha256}};
  out["rubric"] = rubric_json(marks.rubric);
  out["before"] = marks.earlier ? rubric_json(*marks.earlier) : ordered_json(nullptr);
  out["feedback"] = {{"name", marks.feedback_name}, {"version", marks.feedback_version}};
  out["cases"] = ordered_json::array();
  for (const ClassCase& one : marks.cases) out["cases"].push_back(case_json(one, marks));
  return write_json(out);
}

}  // namespace canalrule
