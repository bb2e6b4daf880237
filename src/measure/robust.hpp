#pragma once

#include <vector>

namespace canalrule {

/// The middle value (the upper of two); 0 for none.
double median(std::vector<double> values);

/// The standard deviation of a normal distribution about nought whose magnitudes have this median: 1.4826 times it.
double deviation_from(std::vector<double> magnitudes);

/// 1.4826 times the median absolute deviation: a normal distribution's standard deviation.
double robust_deviation(const std::vector<double>& values);

}  // namespace canalrule
