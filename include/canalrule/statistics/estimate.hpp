#pragma once

#include <optional>
#include <string>

/// Numbers in, numbers out: proportions, agreement, spread, sample sizes. Nothing here knows what is counted
/// or measured. What can't be estimated is a result without value and with its reason, never NaN; an argument
/// that no data can give (a level of 1, a row too short) is the caller's own fault.
namespace canalrule::statistics {

struct Interval {
  double low = 0.0;
  double high = 0.0;
  friend bool operator==(const Interval&, const Interval&) = default;
};

/// An estimate in the unit of its data, and the interval of the level that was asked for. Either may be
/// missing: no data gives neither, a single value has no interval.
struct Estimate {
  std::optional<double> value;
  std::optional<Interval> interval;
  std::string reason;  ///< one sentence: why what is missing is missing; empty where both stand
};

/// The level of every interval that a caller doesn't ask otherwise. A convention of the trade.
inline constexpr double usual_level = 0.95;

/// Quantile of the standard normal distribution that leaves (1 - level) / 2 on each side: 1.959964 for 0.95.
double normal_quantile_of_level(double level);

}  // namespace canalrule::statistics
