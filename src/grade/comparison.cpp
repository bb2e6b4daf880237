#include "comparison.hpp"

#include <algorithm>
#include <canalrule/judge/judge.hpp>
#include <cmath>
#include <functional>
#include <set>
#include <utility>

namespace canalrule {

namespace {

constexpr double rounding = 1e-9;  // of sums of points

using FigureOf = std::function<std::optional<double>(const CanalResult&)>;

std::optional<double> value_of(const std::optional<Quantity>& figure) {
  return figure ? std::optional<double>(figure->value) : std::nullopt;
}

const CanalResult* canal_named(const Result& result, const std::string& name) {
  const auto found = std::find_if(result.canals.begin(), result.canals.end(),
                                  [&](const CanalResult& canal) { return canal.name == name; });
  return found == result.canals.end() ? nullptr : &*found;
}

void finish(ReadingsAgreement& agreement) {
  agreement.differences = statistics::bland_altman(agreement.pairs);
  statistics::Ratings ratings;
  for (const statistics::Pair& pair : agreement.pairs) ratings.push_back({pair.first, pair.second});
  agreement.correlation = statistics::intraclass_correlation(ratings);
}

template <class Visit>
void for_each_pair(const std::vector<ClassCase>& cases, OtherReading other, Visit visit) {
  for (const ClassCase& one : cases)
    if (one.teacher && one.*other) visit(one, *one.teacher, *(one.*other));
}

ReadingsAgreement agreement_of(const std::vector<ClassCase>& cases, OtherReading other, std::string name,
                             std::string unit, const FigureOf& figure) {
  ReadingsAgreement agreement{std::move(name), std::move(unit), {}, {}, {}};
  for_each_pair(cases, other,
                [&](const ClassCase&, const MarkedReading& teacher, const MarkedReading& second) {
                  for (const CanalResult& canal : teacher.result.canals) {
                    const CanalResult* same = canal_named(second.result, canal.name);
                    if (nothing_to_judge(canal) || (same != nullptr && nothing_to_judge(*same))) continue;
                    const std::optional<double> by_teacher = figure(canal);
                    const std::optional<double> by_other = same == nullptr ? std::nullopt : figure(*same);
                    if (by_teacher && by_other) agreement.pairs.push_back({*by_other, *by_teacher});
                  }
                });
  finish(agreement);
  return agreement;
}

ReadingsAgreement agreement_of_marks(const std::vector<ClassCase>& cases, OtherReading other) {
  ReadingsAgreement agreement{"mark", "%", {}, {}, {}};
  for_each_pair(cases, other,
                [&](const ClassCase&, const MarkedReading& teacher, const MarkedReading& second) {
                  if (teacher.mark.percent && second.mark.percent)
                    agreement.pairs.push_back({*second.mark.percent, *teacher.mark.percent});
                });
  finish(agreement);
  return agreement;
}

const Award* award_of(const CriterionMark& mark, const std::string& canal) {
  const auto found = std::find_if(mark.awards.begin(), mark.awards.end(),
                                  [&](const Award& award) { return award.canal == canal; });
  return found == mark.awards.end() ? nullptr : &*found;
}

/// Points by the band that the figure itself lies in: what was seen, not what a rule made of it.
CriterionAgreement agreement_of_points(const std::vector<ClassCase>& cases, OtherReading other,
                                       const RubricCriterion& criterion, std::size_t index) {
  CriterionAgreement agreement;
  agreement.id = criterion.id;
  std::set<double> levels;
  for (const Band& band : criterion.bands) levels.insert(band.points);
  agreement.levels.assign(levels.begin(), levels.end());
  const auto level_of = [&](std::size_t band) {
    return static_cast<std::size_t>(std::distance(levels.begin(), levels.find(criterion.bands[band].points)));
  };
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  for_each_pair(cases, other,
                [&](const ClassCase&, const MarkedReading& teacher, const MarkedReading& second) {
                  for (const Award& award : teacher.mark.criteria.at(index).awards) {
                    const Award* same = award_of(second.mark.criteria.at(index), award.canal);
                    if (award.band && same != nullptr && same->band)
                      pairs.emplace_back(level_of(*same->band), level_of(*award.band));
                  }
                });
  if (levels.size() > 1)
    agreement.kappa = statistics::cohen_kappa(statistics::category_table(pairs, levels.size()),
                                              statistics::KappaWeights::quadratic);
  return agreement;
}

std::vector<std::string> criteria_that_differ(const Mark& before, const Mark& after) {
  std::vector<std::string> ids;
  for (std::size_t i = 0; i < before.criteria.size(); ++i) {
    const std::optional<double>& a = before.criteria[i].points;
    const std::optional<double>& b = after.criteria[i].points;
    if (a.has_value() != b.has_value() || (a && std::abs(*a - *b) > rounding))
      ids.push_back(before.criteria[i].id);
  }
  const auto conditions = [&](const std::vector<ConditionMark>& first,
                              const std::vector<ConditionMark>& second) {
    for (std::size_t i = 0; i < first.size(); ++i)
      if (first[i].applied != second[i].applied || std::abs(first[i].points - second[i].points) > rounding)
        ids.push_back(first[i].id);
  };
  conditions(before.deductions, after.deductions);
  conditions(before.automatic_fails, after.automatic_fails);
  return ids;
}

Moved moved(const ClassCase& one, const Mark& before, const Mark& after) {
  return {one.student, one.name, before.percent, after.percent, before.standing, after.standing, {}};
}

}  // namespace

bool differs(const Mark& before, const Mark& after) {
  if (before.standing != after.standing || before.percent.has_value() != after.percent.has_value())
    return true;
  return before.percent && std::abs(*before.percent - *after.percent) > rounding;
}

ReadingsComparison compare(const std::vector<ClassCase>& cases, const Rubric& rubric, OtherReading other) {
  ReadingsComparison comparison;
  for_each_pair(cases, other,
                [&](const ClassCase& one, const MarkedReading& teacher, const MarkedReading& second) {
                  ++comparison.cases;
                  std::size_t shared = 0;
                  for (const CanalResult& canal : teacher.result.canals)
                    if (canal_named(second.result, canal.name) != nullptr) ++shared;
                  comparison.canals += shared;
                  comparison.canals_unmatched +=
                      teacher.result.canals.size() + second.result.canals.size() - 2 * shared;
                  if (!differs(teacher.mark, second.mark)) return;
                  comparison.moved.push_back(moved(one, teacher.mark, second.mark));
                  comparison.moved.back().criteria = criteria_that_differ(teacher.mark, second.mark);
                });
  if (comparison.cases == 0) return comparison;
  comparison.figures.push_back(agreement_of_marks(cases, other));
  comparison.figures.push_back(
      agreement_of(cases, other, "terminus to apex", "mm", [](const CanalResult& canal) {
        return canal.terminus ? std::optional<double>(canal.terminus->to_apex_mm) : std::nullopt;
      }));
  comparison.figures.push_back(
      agreement_of(cases, other, "filled length", "mm",
                   [](const CanalResult& canal) { return value_of(canal.filled_length_mm); }));
  comparison.figures.push_back(
      agreement_of(cases, other, "overall taper", "mm per mm",
                   [](const CanalResult& canal) { return value_of(canal.taper.overall); }));
  for (std::size_t i = 0; i < rubric.criteria.size(); ++i)
    comparison.criteria.push_back(agreement_of_points(cases, other, rubric.criteria[i], i));
  return comparison;
}

std::optional<Regrade> compare_rubrics(const std::vector<ClassCase>& cases) {
  std::optional<Regrade> regrade;
  for (const ClassCase& one : cases) {
    if (!one.earlier || !one.teacher) continue;
    if (!regrade) regrade.emplace();
    regrade->passed_before += one.earlier->standing == Standing::passed ? 1 : 0;
    regrade->passed_after += one.teacher->mark.standing == Standing::passed ? 1 : 0;
    if (differs(*one.earlier, one.teacher->mark))
      regrade->moved.push_back(moved(one, *one.earlier, one.teacher->mark));
    else
      ++regrade->unmoved;
  }
  return regrade;
}

}  // namespace canalrule
