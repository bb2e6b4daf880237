#pragma once

#include <vector>

namespace canalrule {

struct FittedLine {
  double level = 0.0, slope = 0.0;

  double at(double s) const { return level + slope * s; }
};

/// By least squares, through at least two places.
FittedLine line_through(const std::vector<double>& s, const std::vector<double>& value);

/// The same, each place by its weight; level where only one of them counts.
FittedLine line_through(const std::vector<double>& s, const std::vector<double>& value,
                        const std::vector<double>& weight);

}  // namespace canalrule
