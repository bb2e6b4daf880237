#include <canalrule/statistics/agreement.hpp>

#include <cmath>

#include <canalrule/base/fault.hpp>

#include "distributions.hpp"
#include "moments.hpp"

namespace canalrule::statistics {

namespace {

constexpr const char* no_pairs = "There is no pair of values.";
constexpr const char* one_pair = "One pair alone says nothing about how differences spread.";

std::vector<double> differences(std::span<const Pair> pairs) {
  std::vector<double> d;
  d.reserve(pairs.size());
  for (const Pair& pair : pairs) d.push_back(pair.first - pair.second);
  return d;
}

}  // namespace

BlandAltman bland_altman(std::span<const Pair> pairs, double level) {
  const double upper = upper_probability(level);
  BlandAltman result;
  result.pairs = pairs.size();
  const Moments moments = moments_of(differences(pairs));
  if (pairs.empty()) {
    result.bias.reason = result.lower_limit.reason = result.upper_limit.reason = no_pairs;
    return result;
  }
  result.bias.value = moments.mean;
  if (pairs.size() < 2) {
    result.bias.reason = result.lower_limit.reason = result.upper_limit.reason = one_pair;
    return result;
  }
  const double n = static_cast<double>(pairs.size());
  const double s = std::sqrt(moments.sum_of_squares / (n - 1.0));
  const double z = normal_quantile(upper);
  const double t = student_quantile(upper, n - 1.0);
  const auto about = [](double value, double half) {
    return Estimate{value, Interval{value - half, value + half}, ""};
  };
  const double limit_half = t * s * std::sqrt(1.0 / n + z * z / (2.0 * (n - 1.0)));
  result.standard_deviation = s;
  result.bias = about(moments.mean, t * s / std::sqrt(n));
  result.lower_limit = about(moments.mean - z * s, limit_half);
  result.upper_limit = about(moments.mean + z * s, limit_half);
  return result;
}

Estimate dahlberg_error(std::span<const Pair> pairs, double level) {
  const double upper = upper_probability(level);
  if (pairs.empty()) return {std::nullopt, std::nullopt, no_pairs};
  double squares = 0.0;
  for (const double d : differences(pairs)) squares += d * d;
  const double n = static_cast<double>(pairs.size());
  const Interval interval{std::sqrt(squares / 2.0 / chi_squared_quantile(upper, n)),
                          std::sqrt(squares / 2.0 / chi_squared_quantile(1.0 - upper, n))};
  return {std::sqrt(squares / (2.0 * n)), interval, ""};
}

}  // namespace canalrule::statistics
