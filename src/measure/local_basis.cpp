#include "local_basis.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

LocalBasis LocalBasis::over(double from, double to, double knot_distance) {
  const int pieces = std::max(1, static_cast<int>(std::lround((to - from) / knot_distance)));
  return {from, (to - from) / pieces, pieces + 3};
}

LocalBasis::Weights LocalBasis::at(double place) const {
  const double x = std::clamp((place - first) / step, 0.0, static_cast<double>(count - 3));
  const int piece = std::min(static_cast<int>(x), count - 4);
  const double t = x - piece;
  const double u = 1.0 - t;
  return {piece,
          {u * u * u / 6.0, (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0,
           (-3.0 * t * t * t + 3.0 * t * t + 3.0 * t + 1.0) / 6.0, t * t * t / 6.0}};
}

}  // namespace canalrule
