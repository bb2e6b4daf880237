#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <canalrule/statistics/estimate.hpp>

/// How values are distributed, in the values' own unit.
namespace canalrule::statistics {

/// The q-quantile (0 to 1) by linear interpolation between order statistics (Hyndman and Fan, Am Stat
/// 1996;50:361-365, definition 7). Values in any order; missing where there are none.
std::optional<double> quantile(std::span<const double> values, double q);

struct Distribution {
  std::size_t count = 0;
  Estimate mean;                             ///< interval by t, the values taken as independent
  std::optional<double> standard_deviation;  ///< from 2 values on
  std::optional<double> least, lower_quartile, median, upper_quartile, most;  ///< missing without values
};
Distribution distribution_of(std::span<const double> values, double level = usual_level);

/// counts[i] of the values in [first + i width, first + (i + 1) width); the last bin holds its upper end too.
/// What lies outside is counted apart, never dropped.
struct Histogram {
  double first = 0.0;
  double width = 1.0;
  std::vector<std::size_t> counts;
  std::size_t below = 0;
  std::size_t above = 0;
};
/// `bins` at least 1, width above 0.
Histogram histogram(std::span<const double> values, double first, double width, std::size_t bins);

}  // namespace canalrule::statistics
