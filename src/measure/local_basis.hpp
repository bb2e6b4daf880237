#pragma once

#include <array>
#include <cstddef>

namespace canalrule {

/// Cubic B-splines on evenly spaced knots (de Boor 1978, ch. X): at any place four of them differ from
/// zero and add to one. A function is the sum of `count` coefficients times them.
struct LocalBasis {
  double first = 0.0;  ///< place of the first inner knot
  double step = 1.0;   ///< distance of knots
  int count = 0;       ///< number of coefficients

  /// Enough functions to cover [from, to].
  static LocalBasis over(double from, double to, double knot_distance);

  /// Where a coefficient acts most.
  double coefficient_at(std::size_t k) const { return first + (static_cast<double>(k) - 1.0) * step; }

  struct Weights {
    int first = 0;  ///< index of the first of the four coefficients
    std::array<double, 4> value{};
  };
  Weights at(double place) const;
};

}  // namespace canalrule
