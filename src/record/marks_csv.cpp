#include <canalrule/base/plain.hpp>
#include <canalrule/record/csv.hpp>
#include <canalrule/record/marks.hpp>
#include <map>

#include "marks_words.hpp"

namespace canalrule {

namespace {

constexpr int percent_decimals = 1;
constexpr int points_decimals = 2;

std::string percent(const std::optional<double>& value) {
  return value ? digits(*value, percent_decimals) : "";
}
std::string points(const std::optional<double>& value) { return value ? digits(*value, points_decimals) : ""; }

std::vector<std::string> case_row(const ClassCase& one, const Rubric& rubric) {
  std::vector<std::string> row{csv_text(one.student), csv_text(one.name), one.date};
  if (!one.teacher) {
    row.insert(row.end(), {"not-measured", "", "", "", "", ""});
    row.insert(row.end(), rubric.criteria.size() + rubric.deductions.size() + rubric.automatic_fails.size(),
               "");
  } else {
    const Mark& mark = one.teacher->mark;
    const auto if_marked = [&](double value) { return mark.percent ? percent(value) : ""; };
    row.insert(row.end(), {std::string(word_of(standing_words, mark.standing)), percent(mark.percent),
                           if_marked(mark.least_percent), if_marked(mark.most_percent), points(mark.points),
                           points(mark.out_of)});
    for (const CriterionMark& criterion : mark.criteria) row.push_back(points(criterion.points));
    for (const ConditionMark& deduction : mark.deductions)
      row.push_back(points(deduction.points > 0.0 ? -deduction.points : 0.0));
    for (const ConditionMark& fail : mark.automatic_fails)
      row.push_back(fail.applied ? "yes" : fail.sureness == Sureness::not_assessable ? "" : "no");
  }
  row.push_back(one.second_look.empty() ? "no" : "yes");
  return row;
}

}  // namespace

std::string marks_csv(const ClassMarks& marks) {
  struct Sum {
    std::size_t cases = 0, marked = 0, passed = 0;
    double percent = 0.0;
  };
  std::map<std::string, Sum> students;
  for (const ClassCase& one : marks.cases) {
    Sum& sum = students[one.student];
    ++sum.cases;
    if (!one.teacher || !one.teacher->mark.percent) continue;
    ++sum.marked;
    sum.passed += one.teacher->mark.standing == Standing::passed ? 1 : 0;
    sum.percent += *one.teacher->mark.percent;
  }
  std::string text = csv_row({"student", "cases", "marked", "passed", "percent"});
  for (const auto& [student, sum] : students)
    text += csv_row(
        {csv_text(student), std::to_string(sum.cases), std::to_string(sum.marked), std::to_string(sum.passed),
         sum.marked > 0 ? digits(sum.percent / static_cast<double>(sum.marked), percent_decimals) : ""});
  return text;
}

std::string cases_csv(const ClassMarks& marks) {
  std::vector<std::string> header{"student",       "case",         "date",   "standing", "percent",
                                  "least_percent", "most_percent", "points", "out_of"};
  for (const RubricCriterion& criterion : marks.rubric.criteria) header.push_back(csv_text(criterion.id));
  for (const RubricCondition& deduction : marks.rubric.deductions) header.push_back(csv_text(deduction.id));
  for (const RubricCondition& fail : marks.rubric.automatic_fails) header.push_back(csv_text(fail.id));
  header.push_back("second_look");
  std::string text = csv_row(header);
  for (const ClassCase& one : marks.cases) text += csv_row(case_row(one, marks.rubric));
  return text;
}

}  // namespace canalrule
