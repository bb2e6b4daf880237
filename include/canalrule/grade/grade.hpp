#pragma once

#include <canalrule/record/feedback.hpp>
#include <canalrule/record/marks.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/record/rubric.hpp>
#include <map>
#include <string>
#include <vector>

namespace canalrule {

/// What a teacher wrote down of a case: by column, whether it was seen. A column that isn't here was left
/// empty.
using Observations = std::map<std::string, bool>;

/// The rubric applied to a measured film. The chance of each band follows from the figure and its standard
/// uncertainty as `judge` has it: P(value <= upper edge) less P(value <= lower edge).
///
/// A figure over the whole fill of which a stretch longer than 0.5 mm can't be seen is marked by what was
/// seen where that alone keeps it from full points, else it is not assessable (see judge). A deduction or
/// automatic fail is applied only for what the film shows or a teacher saw.
///
/// percent = 100 points / out_of; least and most percent take every criterion, deduction and fail at the end
/// of what its uncertainty leaves open. No mark where nothing could be assessed, or less than the rubric's
/// least.
Mark grade(const Result& result, const Rubric& rubric, const Observations& seen);

/// For every fault by which figures lie outside the rubric's best bands, what the feedback file says of it,
/// with place and figure filled in: canals in the result's order, for each the rubric's criteria in theirs.
/// Of voids, each that counts more likely than not (and, where one is measured against a limit, breaks it). A
/// fault that several criteria see is said once.
std::vector<Advice> advise(const Result& result, const Mark& mark, const Rubric& rubric,
                           const Feedback& feedback, Technique technique);

/// The best stretch of a criterion's line: where its bands earn full points.
Band best_stretch(const RubricCriterion& criterion);

/// A figure with its expanded uncertainty for a person, "3.21 ± 0.11 mm" (k = 2); empty where there is none.
std::string figure_words(const std::optional<Quantity>& figure, const RubricFigure& of);

}  // namespace canalrule
