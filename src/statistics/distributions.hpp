#pragma once

#include <cstddef>

/// Quantiles of the distributions that the intervals need; probability 0 to 1, both excluded.
namespace canalrule::statistics {

/// The probability below the upper end of an interval of this level: 0.975 for 0.95. The level lies between
/// 0 and 1, both excluded.
double upper_probability(double level);

double normal_quantile(double probability);
double student_quantile(double probability, double degrees_of_freedom);
double fisher_quantile(double probability, double numerator_degrees, double denominator_degrees);
double chi_squared_quantile(double probability, double degrees_of_freedom);

/// P(count <= k) and P(count = k) for `all` independent tries, each with chance `share`; k at most `all`.
double binomial_at_most(std::size_t k, std::size_t all, double share);
double binomial_exactly(std::size_t k, std::size_t all, double share);

}  // namespace canalrule::statistics
