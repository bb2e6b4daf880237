#include "void_patterns.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

double thickness_taken(const Pattern& pattern, const FillModel& model, double s, double n, double blurred,
                       double middle) {
  if (pattern.kind == VoidKind::across || blurred == 0.0) return blurred;
  const double r = std::max(1.0, model.radius_px(s));
  if (pattern.kind == VoidKind::inside) {
    // The shadow of a round bubble, blurred, is near a Gaussian of the same area and variance.
    const double rho = pattern.width * r;
    const double sd = std::sqrt(0.25 * rho * rho + model.blur_px * model.blur_px);
    const double peak = 1.5708 * rho / (2.5066 * sd);
    return middle * std::min(1.0, peak) * std::exp(-0.5 * n * n / (sd * sd));
  }
  const double side = pattern.place > 0.0 ? n : -n;
  const double soft = std::max(0.15 * r, 0.6 * model.blur_px);
  return blurred / (1.0 + std::exp(-(side - (std::fabs(pattern.place) - pattern.width) * r) / soft));
}

}  // namespace canalrule
