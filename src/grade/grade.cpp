#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/grade/grade.hpp>
#include <canalrule/grade/points.hpp>
#include <cmath>

#include "look.hpp"

namespace canalrule {

namespace {

/// Rounding of sums of points; far below any share of a point that a rubric gives.
constexpr double rounding_percent = 1e-9;

std::size_t own_band(const RubricCriterion& criterion, const BandsSeen& seen) {
  if (seen.figure)
    for (std::size_t i = 0; i < criterion.bands.size(); ++i)
      if (lies_between(seen.figure->value, criterion.bands[i].lower, criterion.bands[i].upper)) return i;
  return static_cast<std::size_t>(std::max_element(seen.chance.begin(), seen.chance.end()) -
                                  seen.chance.begin());
}

Award unassessed(Award award, const RubricCriterion& criterion, Unassessed rule) {
  award.sureness = Sureness::not_assessable;
  if (rule == Unassessed::left_out) return award;
  award.points = rule == Unassessed::full_points ? criterion.points : 0.0;
  award.least_points = award.most_points = *award.points;
  return award;
}

Award award_for(const CanalResult& canal, const RubricCriterion& criterion, const Rubric& rubric) {
  const BandsSeen seen = look_at_bands(canal, criterion);
  const Unassessed rule = criterion.not_assessable.value_or(rubric.not_assessable);
  Award award;
  award.canal = canal.name;
  award.figure = seen.figure;
  award.reason = seen.reason;
  if (seen.chance.empty()) return unassessed(award, criterion, rule);
  const std::size_t own = own_band(criterion, seen);
  const Earned points =
      earned(criterion.bands, seen.chance, own, rubric.too_close_to_call, rubric.confidence);
  // Full points for what was seen say nothing of what wasn't.
  if (seen.seen == Shown::Seen::in_part && points.least == criterion.points)
    return unassessed(award, criterion, rule);
  award.chance = seen.chance;
  award.band = own;
  award.points = points.points;
  award.least_points = points.least;
  award.most_points = points.most;
  award.sureness = points.sureness;
  return award;
}

/// The canals together: of those that have points, the worst or the mean.
void put_together(CriterionMark& mark, SeveralCanals rule) {
  double number = 0.0;
  mark.sureness = Sureness::sure;
  for (const Award& award : mark.awards) {
    mark.sureness = std::max(mark.sureness, award.sureness);
    if (!award.points) continue;
    number += 1.0;
    if (number == 1.0) {
      mark.points = award.points;
      mark.least_points = award.least_points;
      mark.most_points = award.most_points;
    } else if (rule == SeveralCanals::worst) {
      mark.points = std::min(*mark.points, *award.points);
      mark.least_points = std::min(mark.least_points, award.least_points);
      mark.most_points = std::min(mark.most_points, award.most_points);
    } else {
      mark.points = *mark.points + *award.points;
      mark.least_points += award.least_points;
      mark.most_points += award.most_points;
    }
  }
  if (rule == SeveralCanals::mean && number > 1.0) {
    mark.points = *mark.points / number;
    mark.least_points /= number;
    mark.most_points /= number;
  }
}

bool assessed(const CriterionMark& mark) {
  return std::any_of(mark.awards.begin(), mark.awards.end(),
                     [](const Award& award) { return award.sureness != Sureness::not_assessable; });
}

/// P(the condition holds), by what the canal shows below its limit.
ConditionMark on_canal(const CanalResult& canal, const MeasuredCondition& condition, const Rubric& rubric) {
  const bool above = condition.lower.has_value();
  const Limit edge = above ? Limit{condition.lower->value, !condition.lower->inclusive} : *condition.upper;
  const Shown shown = look_below(canal, condition.looked, edge);
  ConditionMark mark;
  mark.canal = canal.name;
  mark.figure = shown.figure;
  mark.reason = shown.reason;
  if (!shown.probability) return mark;
  mark.chance = above ? 1.0 - *shown.probability : *shown.probability;
  const bool meets =
      shown.figure ? lies_between(shown.figure->value, condition.lower, condition.upper) : *mark.chance > 0.5;
  const Applied share = applied(*mark.chance, meets ? FigureMeets::yes : FigureMeets::no,
                                rubric.too_close_to_call, rubric.confidence);
  mark.points = share.share;
  mark.least_taken = share.least;
  mark.most_taken = share.most;
  mark.sureness = share.sureness;
  return mark;
}

ConditionMark observed(const ObservedCondition& condition, const Observations& seen) {
  ConditionMark mark;
  const auto found = seen.find(condition.column);
  if (found == seen.end()) {
    mark.reason = "the list says nothing in its column '" + condition.column + "'";
    return mark;
  }
  mark.sureness = Sureness::sure;
  mark.points = mark.least_taken = mark.most_taken = found->second ? 1.0 : 0.0;
  mark.reason = found->second ? "a teacher saw it" : "a teacher looked and did not see it";
  return mark;
}

/// Shares of what the condition takes, for the canal where it holds most surely.
ConditionMark condition_mark(const Result& result, const RubricCondition& condition, const Rubric& rubric,
                             const Observations& seen) {
  ConditionMark worst;
  if (const auto* column = std::get_if<ObservedCondition>(&condition.when))
    worst = observed(*column, seen);
  else
    for (const CanalResult& canal : result.canals) {
      const ConditionMark here = on_canal(canal, std::get<MeasuredCondition>(condition.when), rubric);
      if (worst.canal.empty() || here.chance.value_or(-1.0) > worst.chance.value_or(-1.0)) worst = here;
    }
  worst.id = condition.id;
  return worst;
}

ConditionMark deduction(ConditionMark mark, double points) {
  mark.applied = mark.points > 0.0;
  mark.points *= points;
  mark.least_taken *= points;
  mark.most_taken *= points;
  return mark;
}

ConditionMark automatic_fail(ConditionMark mark) {
  mark.applied = mark.points >= 0.5;
  mark.points = 0.0;
  return mark;
}

/// Points less deductions, as percent of what could be had.
double percent_of(double points, double taken, double out_of) {
  return 100.0 * std::clamp(points - taken, 0.0, out_of) / out_of;
}

void sum_up(Mark& mark, const Rubric& rubric) {
  double points = 0.0, least = 0.0, most = 0.0, could_assess = 0.0;
  for (std::size_t i = 0; i < mark.criteria.size(); ++i) {
    const CriterionMark& criterion = mark.criteria[i];
    if (assessed(criterion)) could_assess += rubric.criteria[i].points;
    if (!criterion.points) continue;
    mark.out_of += rubric.criteria[i].points;
    points += *criterion.points;
    least += criterion.least_points;
    most += criterion.most_points;
  }
  double taken = 0.0, least_taken = 0.0, most_taken = 0.0;
  for (const ConditionMark& deducted : mark.deductions) {
    taken += deducted.points;
    least_taken += deducted.least_taken;
    most_taken += deducted.most_taken;
  }
  mark.points = std::max(0.0, points - taken);
  mark.assessed_percent = 100.0 * could_assess / rubric.most_points();
  bool fails = false, surely_fails = false, may_fail = false;
  for (const ConditionMark& fail : mark.automatic_fails) {
    fails = fails || fail.applied;
    surely_fails = surely_fails || fail.least_taken > 0.0;
    may_fail = may_fail || fail.most_taken > 0.0;
  }
  const bool enough = could_assess > 0.0 && mark.assessed_percent >= rubric.least_assessed_percent;
  if (!surely_fails && !enough) return;
  const auto capped = [&](double percent, bool cap) {
    return cap ? std::min(percent, rubric.automatic_fail_percent) : percent;
  };
  const auto share = [&](double earned_points, double taken_points) {
    return mark.out_of > 0.0 ? percent_of(earned_points, taken_points, mark.out_of) : 0.0;
  };
  mark.percent = capped(share(points, taken), fails);
  mark.least_percent = capped(share(least, most_taken), may_fail);
  mark.most_percent = capped(share(most, least_taken), surely_fails);
  const auto passes = [&](double percent) { return percent >= rubric.pass_mark_percent - rounding_percent; };
  mark.standing =
      fails ? Standing::failed_automatically : (passes(*mark.percent) ? Standing::passed : Standing::failed);
  mark.standing_is_open = passes(mark.least_percent) != passes(mark.most_percent);
}

}  // namespace

Mark grade(const Result& result, const Rubric& rubric, const Observations& seen) {
  ensure(!rubric.criteria.empty(), "a rubric has criteria");
  Mark mark;
  for (const RubricCriterion& criterion : rubric.criteria) {
    CriterionMark one;
    one.id = criterion.id;
    for (const CanalResult& canal : result.canals) one.awards.push_back(award_for(canal, criterion, rubric));
    put_together(one, rubric.several_canals);
    mark.criteria.push_back(std::move(one));
  }
  for (const RubricCondition& condition : rubric.deductions)
    mark.deductions.push_back(deduction(condition_mark(result, condition, rubric, seen), condition.points));
  for (const RubricCondition& condition : rubric.automatic_fails)
    mark.automatic_fails.push_back(automatic_fail(condition_mark(result, condition, rubric, seen)));
  sum_up(mark, rubric);
  return mark;
}

}  // namespace canalrule
