#include <canalrule/statistics/distribution.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>

#include "distributions.hpp"
#include "moments.hpp"

namespace canalrule::statistics {

namespace {

std::optional<double> quantile_of_sorted(std::span<const double> sorted, double q) {
  ensure(q >= 0.0 && q <= 1.0, "a quantile's share lies between 0 and 1");
  if (sorted.empty()) return std::nullopt;
  const double place = q * static_cast<double>(sorted.size() - 1);
  const std::size_t below = static_cast<std::size_t>(place);
  if (below + 1 >= sorted.size()) return sorted.back();
  return sorted[below] + (place - static_cast<double>(below)) * (sorted[below + 1] - sorted[below]);
}

}  // namespace

std::optional<double> quantile(std::span<const double> values, double q) {
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  return quantile_of_sorted(sorted, q);
}

Distribution distribution_of(std::span<const double> values, double level) {
  const double upper = upper_probability(level);
  Distribution result;
  result.count = values.size();
  if (values.empty()) {
    result.mean.reason = "There are no values.";
    return result;
  }
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  result.least = sorted.front();
  result.lower_quartile = quantile_of_sorted(sorted, 0.25);
  result.median = quantile_of_sorted(sorted, 0.5);
  result.upper_quartile = quantile_of_sorted(sorted, 0.75);
  result.most = sorted.back();
  const Moments moments = moments_of(sorted);
  result.mean.value = moments.mean;
  if (values.size() < 2) {
    result.mean.reason = "One value alone says nothing about how values spread.";
    return result;
  }
  const double n = static_cast<double>(values.size());
  const double s = std::sqrt(moments.sum_of_squares / (n - 1.0));
  const double half = student_quantile(upper, n - 1.0) * s / std::sqrt(n);
  result.standard_deviation = s;
  result.mean.interval = Interval{moments.mean - half, moments.mean + half};
  return result;
}

Histogram histogram(std::span<const double> values, double first, double width, std::size_t bins) {
  ensure(width > 0.0 && bins > 0, "a histogram has bins, and these a width");
  Histogram result{first, width, std::vector<std::size_t>(bins, 0), 0, 0};
  const double end = first + width * static_cast<double>(bins);
  for (const double value : values) {
    if (value < first)
      ++result.below;
    else if (value > end)
      ++result.above;
    else
      ++result.counts[std::min(static_cast<std::size_t>((value - first) / width), bins - 1)];
  }
  return result;
}

}  // namespace canalrule::statistics
