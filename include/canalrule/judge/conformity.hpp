#pragma once

#include <optional>

#include <canalrule/base/quantity.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// Probability that the true value lies between the limits, where what is known of it is a normal
/// distribution of mean `figure.value` and standard deviation `figure.standard_uncertainty` (JCGM 106:2012,
/// 7): Phi((upper - y) / u) - Phi((lower - y) / u); a missing limit is infinitely far. 0 or 1 where u is 0.
double probability_of_conformity(const Quantity& figure, const std::optional<Limit>& lower,
                                 const std::optional<Limit>& upper);

/// Within where `probability` is at least `confidence`, outside where it is at most 1 - `confidence`, else
/// too close to call (JCGM 106:2012, 8: guarded acceptance and guarded rejection).
Verdict verdict_of(double probability, double confidence);

/// Whether `found` counts as a void by `selection`: each of its values is at least the least, and its third the third
/// asked for. What is listed and counted for a person goes by this; verdicts go by the probability.
bool counts(const Void& found, const VoidSelection& selection);

/// Probability that `found` counts as a void by `selection`: that its true score, length and deficit each
/// reach the least, taken as independent and normal; the score's standard deviation is 1, as it is counted in
/// standard deviations. 0 for a void of another third.
///   P = Phi(score - least score) * P(length >= least length) * P(deficit >= least deficit)
double probability_that_it_counts(const Void& found, const VoidSelection& selection);

}  // namespace canalrule
