#pragma once

#include <canalrule/record/rubric.hpp>

#include "fields.hpp"

/// What makes a rubric fair, checked when it is read.
namespace canalrule {

/// Refuses bands that don't tile the line from one end to the other in ascending order, that let a worse
/// value earn more, or of which none earns the criterion's full points.
void check_bands(const RubricCriterion& criterion, const Field& bands);

/// Refuses a condition without a limit, with two, or with one at the figure's good end.
void check_condition(const MeasuredCondition& condition, const Field& field);

/// Refuses a condition on a figure and on voids that a criterion also looks at, where it touches a value that
/// earns full points there.
void check_against_criteria(const RubricCondition& condition, const std::vector<RubricCriterion>& criteria,
                            const Field& field);

}  // namespace canalrule
