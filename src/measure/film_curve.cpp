#include "film_curve.hpp"

namespace canalrule {

double Surroundings::at(double s) const {
  if (level.size() < 2) return 0.0;
  const double row = std::clamp((s - first_s_px) / row_px, 0.0, static_cast<double>(level.size() - 1));
  const std::size_t i = std::min(static_cast<std::size_t>(row), level.size() - 2);
  return level[i] + (row - static_cast<double>(i)) * (level[i + 1] - level[i]);
}

double FilmCurve::thickness_change(double exposure, double slope, double more) const {
  if (scattered) {
    const double f = scatter();
    const double whole = ((1.0 - f) * exposure + f) * std::exp(-more / gain());
    const double left = (whole - f) / ((1.0 - f) * exposure);
    return -std::log(std::max(least_left, left)) / absorption;
  }
  // Seen from there the curve is one of the same kind, with v = more / slope for w, and p is the same:
  // tanh(r change) / (2 r) = v / (2 - b v).
  const double w = displayed(-std::log(exposure) / absorption).y / contrast;
  const double b = own_bend() + 2.0 * own_turn() * w;
  const double p = own_bend() * own_bend() + 4.0 * own_turn();
  const double v = more / slope;
  const double t = v / std::max(2.0 * least_left, 2.0 - b * v);
  if (std::fabs(p * t * t) < 1e-6) return 2.0 * t * (1.0 + p * t * t / 3.0);
  const double root = std::sqrt(std::fabs(p));
  if (p < 0.0) return 2.0 / root * std::atan(root * t);
  return 2.0 / root * std::atanh(std::clamp(root * t, least_left - 1.0, 1.0 - least_left));
}

}  // namespace canalrule
