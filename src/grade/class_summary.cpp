#include <algorithm>
#include <canalrule/grade/class_summary.hpp>
#include <map>
#include <set>
#include <tuple>

#include "comparison.hpp"

namespace canalrule {

namespace {

double mean_of(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

bool has_mark(const ClassCase& one) { return one.teacher && one.teacher->mark.percent; }
bool has_passed(const ClassCase& one) {
  return one.teacher && one.teacher->mark.standing == Standing::passed;
}

std::vector<ClassSpread> spreads(const std::vector<ClassCase>& cases, const Rubric& rubric) {
  std::vector<ClassSpread> figures;
  for (std::size_t i = 0; i < rubric.criteria.size(); ++i) {
    const RubricCriterion& criterion = rubric.criteria[i];
    ClassSpread spread;
    spread.figure = criterion.looked.figure;
    spread.criterion = criterion.id;
    for (const ClassCase& one : cases) {
      if (!one.teacher) continue;
      for (const Award& award : one.teacher->mark.criteria.at(i).awards) {
        if (award.figure)
          spread.values.push_back(award.figure->value);
        else
          ++spread.without;
      }
    }
    spread.spread = statistics::distribution_of(spread.values);
    figures.push_back(std::move(spread));
  }
  return figures;
}

std::vector<CriterionOutcome> outcomes(const std::vector<ClassCase>& cases, const Rubric& rubric) {
  std::vector<CriterionOutcome> all;
  for (std::size_t i = 0; i < rubric.criteria.size(); ++i) {
    CriterionOutcome outcome;
    outcome.id = rubric.criteria[i].id;
    outcome.per_band.assign(rubric.criteria[i].bands.size(), 0);
    std::vector<double> points;
    for (const ClassCase& one : cases) {
      if (!one.teacher) continue;
      const CriterionMark& mark = one.teacher->mark.criteria.at(i);
      if (mark.points) points.push_back(*mark.points);
      for (const Award& award : mark.awards) {
        if (award.band) ++outcome.per_band[*award.band];
        if (award.sureness == Sureness::sure)
          ++outcome.sure;
        else if (award.sureness == Sureness::too_close_to_call)
          ++outcome.too_close_to_call;
        else
          ++outcome.not_assessable;
      }
    }
    if (!points.empty()) outcome.mean_points = mean_of(points);
    all.push_back(std::move(outcome));
  }
  return all;
}

/// Most canals first; equal ones in the order of faults and thirds.
std::vector<FaultCount> count_faults(const std::vector<ClassCase>& cases) {
  struct Counted {
    std::string title;
    std::set<std::tuple<std::size_t, std::string>> canals;
    std::set<std::string> students;
  };
  std::map<std::pair<Fault, std::optional<Third>>, Counted> counted;
  for (std::size_t i = 0; i < cases.size(); ++i)
    for (const Advice& advice : cases[i].advice) {
      Counted& place = counted[{advice.fault, advice.third}];
      place.title = advice.title;
      place.canals.emplace(i, advice.canal);
      place.students.insert(cases[i].student);
    }
  std::vector<FaultCount> faults;
  for (const auto& [place, found] : counted)
    faults.push_back({place.first, found.title, place.second, found.canals.size(), found.students.size()});
  std::stable_sort(faults.begin(), faults.end(),
                   [](const FaultCount& a, const FaultCount& b) { return a.canals > b.canals; });
  return faults;
}

std::vector<Session> sessions_of(const std::vector<ClassCase>& cases) {
  std::map<std::string, Session> by_date;
  for (const ClassCase& one : cases) {
    if (one.date.empty() || !has_mark(one)) continue;
    Session& session = by_date[one.date];
    session.percents.push_back(*one.teacher->mark.percent);
    session.passed += has_passed(one) ? 1 : 0;
  }
  std::vector<Session> sessions;
  for (auto& [date, session] : by_date) {
    session.date = date;
    session.spread = statistics::distribution_of(session.percents);
    sessions.push_back(std::move(session));
  }
  return sessions;
}

void add_own_view(StudentSummary& summary, const std::vector<const ClassCase*>& cases) {
  std::vector<double> differences;
  for (const ClassCase* one : cases) {
    if (!has_mark(*one) || !one->student_own || !one->student_own->mark.percent) continue;
    const Mark& teacher = one->teacher->mark;
    const Mark& own = one->student_own->mark;
    differences.push_back(*own.percent - *teacher.percent);
    if (own.least_percent > teacher.most_percent) ++summary.own_higher;
    if (own.most_percent < teacher.least_percent) ++summary.own_lower;
  }
  summary.own_readings = differences.size();
  if (differences.empty()) return;
  summary.own_difference_percent = mean_of(differences);
  if (differences.size() < least_own_readings) return;
  summary.view = SelfView::as_the_teacher;
  if (summary.own_higher > summary.own_lower) summary.view = SelfView::over_rates;
  if (summary.own_higher < summary.own_lower) summary.view = SelfView::under_rates;
}

StudentSummary summary_of(const std::string& student, const std::vector<const ClassCase*>& cases) {
  StudentSummary summary;
  summary.student = student;
  std::vector<double> percents;
  std::map<std::string, std::vector<double>> by_date;
  for (const ClassCase* one : cases) {
    ++summary.cases;
    if (!has_mark(*one)) continue;
    percents.push_back(*one->teacher->mark.percent);
    summary.passed += has_passed(*one) ? 1 : 0;
    if (!one->date.empty()) by_date[one->date].push_back(percents.back());
  }
  summary.marked = percents.size();
  if (!percents.empty()) summary.mean_percent = mean_of(percents);
  for (const auto& [date, values] : by_date) summary.progress.push_back({date, mean_of(values)});
  add_own_view(summary, cases);
  return summary;
}

std::vector<StudentSummary> students_of(const std::vector<ClassCase>& cases) {
  std::map<std::string, std::vector<const ClassCase*>> by_student;
  for (const ClassCase& one : cases) by_student[one.student].push_back(&one);
  std::vector<StudentSummary> students;
  for (const auto& [student, own] : by_student) students.push_back(summary_of(student, own));
  return students;
}

}  // namespace

ClassSummary summarise(const std::vector<ClassCase>& cases, const Rubric& rubric) {
  ClassSummary summary;
  summary.cases = cases.size();
  for (const ClassCase& one : cases) {
    summary.measured += one.teacher ? 1 : 0;
    if (!has_mark(one)) continue;
    ++summary.marked;
    summary.passed += has_passed(one) ? 1 : 0;
    summary.open += one.teacher->mark.standing_is_open ? 1 : 0;
    summary.percents.push_back(*one.teacher->mark.percent);
  }
  summary.marks = statistics::distribution_of(summary.percents);
  summary.figures = spreads(cases, rubric);
  summary.criteria = outcomes(cases, rubric);
  summary.faults = count_faults(cases);
  summary.sessions = sessions_of(cases);
  summary.students = students_of(cases);
  summary.self = compare(cases, rubric, &ClassCase::student_own);
  summary.moderation = compare(cases, rubric, &ClassCase::second);
  summary.regrade = compare_rubrics(cases);
  return summary;
}

}  // namespace canalrule
