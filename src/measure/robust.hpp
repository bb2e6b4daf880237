#pragma once

#include <vector>

namespace canalrule {

/// The middle value (the upper of two); 0 for none.
double median(std::vector<double> values);

/// 1.4826 times the median absolute deviation: a normal distribution's standard deviation.
double robust_deviation(const std::vector<double>& values);

}  // namespace canalrule
