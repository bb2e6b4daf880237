#include "grade_class.hpp"

#include <algorithm>
#include <canalrule/base/utf8.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/cases/open_case.hpp>
#include <canalrule/grade/class_summary.hpp>
#include <canalrule/grade/grade.hpp>
#include <canalrule/measure/measure.hpp>
#include <canalrule/report/grade_pages.hpp>
#include <filesystem>
#include <set>

namespace canalrule::command {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t longest_name = 60;  // bytes of a page's name, of the 255 that file systems take; chosen here

/// What a row says wrongly.
struct RowProblem {
  std::string text;
};

/// The refusal without the folders of this machine.
std::string told(const Refusal& refusal) {
  std::string text = fs::path(refusal.where()).filename().string() + ": ";
  if (!refusal.field().empty()) text += refusal.field() + ": ";
  return text + refusal.problem() + "; " + refusal.remedy();
}

bool digits(std::string_view text) {
  return std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; });
}

/// ISO 8601, YYYY-MM-DD, a day that the month has (Gregorian).
bool is_date(const std::string& text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  const std::string_view all(text);
  if (!digits(all.substr(0, 4)) || !digits(all.substr(5, 2)) || !digits(all.substr(8, 2))) return false;
  const int year = std::stoi(text.substr(0, 4)), month = std::stoi(text.substr(5, 2)),
            day = std::stoi(text.substr(8));
  if (month < 1 || month > 12) return false;
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return day >= 1 && day <= days[month - 1] + (month == 2 && leap ? 1 : 0);
}

std::string date_of(const CaseList& list, const CaseListRow& row) {
  const std::string& date = list.value(row, "date");
  if (!date.empty() && !is_date(date)) throw RowProblem{"date: '" + date + "' is no day written YYYY-MM-DD"};
  return date;
}

Technique technique_of(const CaseList& list, const CaseListRow& row) {
  const std::string& found = list.value(row, "technique");
  if (found.empty()) return Technique::any;
  for (const Technique technique : {Technique::warm_vertical, Technique::lateral, Technique::single_cone})
    if (found == word_of(technique)) return technique;
  throw RowProblem{"technique: '" + found + "' is none of warm-vertical, lateral, single-cone"};
}

void observe(const CaseList& list, const CaseListRow& row, const std::vector<RubricCondition>& conditions,
             Observations& seen) {
  for (const RubricCondition& condition : conditions) {
    const auto* observed = std::get_if<ObservedCondition>(&condition.when);
    if (observed == nullptr) continue;
    const std::string& value = list.value(row, observed->column);
    if (value == "yes" || value == "no")
      seen[observed->column] = value == "yes";
    else if (!value.empty())
      throw RowProblem{observed->column + ": '" + value + "' is neither yes nor no"};
  }
}

Observations observations_of(const CaseList& list, const CaseListRow& row, const GradingBasis& basis) {
  Observations seen;
  observe(list, row, basis.rubric.deductions, seen);
  observe(list, row, basis.rubric.automatic_fails, seen);
  if (basis.earlier) {
    observe(list, row, basis.earlier->deductions, seen);
    observe(list, row, basis.earlier->automatic_fails, seen);
  }
  return seen;
}

/// A further reading of the same film, where the list names one.
std::optional<MarkedReading> further_reading(const CaseList& list, const CaseListRow& row,
                                             const std::string& column, const Observations& seen,
                                             const Rubric& rubric, ClassCase& graded) {
  const std::string& file = list.value(row, column);
  if (file.empty()) return std::nullopt;
  try {
    Result result = measure(open_case(list.folder / file));
    if (result.provenance.image_sha256 != graded.teacher->result.provenance.image_sha256)
      throw RowProblem{"it marks another film than the teacher's reading"};
    Mark mark = grade(result, rubric, seen);
    return MarkedReading{std::move(result), std::move(mark)};
  } catch (const Refusal& refusal) {
    graded.reading_problems.push_back(column + ": " + told(refusal));
  } catch (const RowProblem& problem) {
    graded.reading_problems.push_back(column + ": " + problem.text);
  }
  return std::nullopt;
}

void grade_into(const CaseList& list, const CaseListRow& row, const GradingBasis& basis, GradedRow& out) {
  ClassCase& graded = out.graded;
  if (!row.problem.empty()) throw RowProblem{row.problem};
  if (graded.student.empty()) throw RowProblem{"student: it is empty"};
  graded.date = date_of(list, row);
  graded.technique = technique_of(list, row);
  const Observations seen = observations_of(list, row, basis);
  const Case opened = open_case(list.reading_of(row));
  Result result = measure(opened);
  out.picture = report::case_scene(opened.film, result);
  Mark mark = grade(result, basis.rubric, seen);
  graded.advice = advise(result, mark, basis.rubric, basis.feedback, graded.technique);
  if (basis.earlier) graded.earlier = grade(result, *basis.earlier, seen);
  graded.teacher = MarkedReading{std::move(result), std::move(mark)};
  graded.student_own = further_reading(list, row, "student_reading", seen, basis.rubric, graded);
  graded.second = further_reading(list, row, "second_reading", seen, basis.rubric, graded);
  graded.second_look = second_look(graded, basis.rubric);
}

}  // namespace

GradedRow grade_row(const CaseList& list, const CaseListRow& row, const GradingBasis& basis) {
  GradedRow out;
  out.graded.line = row.line;
  out.graded.student = list.value(row, "student");
  out.graded.name = list.value(row, "case");
  try {
    grade_into(list, row, basis, out);
  } catch (const Refusal& refusal) {
    out.graded.problem = told(refusal);
  } catch (const RowProblem& problem) {
    out.graded.problem = problem.text;
  }
  return out;
}

std::vector<std::string> page_names(const std::vector<std::string>& students) {
  std::set<std::string> taken;
  std::vector<std::string> names;
  for (const std::string& student : students) {
    std::string name;
    for (const char c : student) {
      const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
      if (name.size() < longest_name) name += letter || (c >= '0' && c <= '9') || c == '_' ? c : '-';
    }
    for (std::size_t number = 1;; ++number) {
      const std::string candidate = number == 1 ? name : name + "-" + std::to_string(number);
      if (!taken.insert(lower_case(candidate)).second) continue;
      names.push_back(candidate);
      break;
    }
  }
  return names;
}

}  // namespace canalrule::command
