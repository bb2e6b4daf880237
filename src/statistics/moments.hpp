#pragma once

#include <cstddef>
#include <span>

namespace canalrule::statistics {

/// The mean, and the sum of squared deviations from it, by two passes; both 0 without values.
struct Moments {
  double mean = 0.0;
  double sum_of_squares = 0.0;
};

inline Moments moments_of(std::span<const double> values) {
  Moments moments;
  if (values.empty()) return moments;
  // About the first value, so that what all values share cancels before it costs digits.
  for (const double value : values) moments.mean += value - values.front();
  moments.mean = values.front() + moments.mean / static_cast<double>(values.size());
  for (const double value : values) moments.sum_of_squares += (value - moments.mean) * (value - moments.mean);
  return moments;
}

}  // namespace canalrule::statistics
