#include "film_curve.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

namespace {

/// More scatter than this leaves no film to measure. Chosen here; tests/truth/width.cpp.
constexpr double most_scatter = 0.9;

/// Least of a fill's exposure, or of a display's slope, that a residual is turned back to, as a share.
/// Chosen here; tests/truth/voids.cpp.
constexpr double least_left = 0.05;

}  // namespace

double Surroundings::at(double s) const {
  if (level.size() < 2) return 0.0;
  const double row = std::clamp((s - first_s_px) / row_px, 0.0, static_cast<double>(level.size() - 1));
  const std::size_t i = std::min(static_cast<std::size_t>(row), level.size() - 2);
  return level[i] + (row - static_cast<double>(i)) * (level[i + 1] - level[i]);
}

double FilmCurve::scatter() const { return std::min(most_scatter, scatter_ratio * bend / absorption); }
double FilmCurve::gain() const { return contrast / (absorption - bend); }

FilmCurve::Point FilmCurve::at(double exposure, double q) const {
  if (scattered) {
    const double f = scatter();
    const double k = gain();
    const double whole = (1.0 - f) * exposure + f;
    const double y = -k * std::log(whole);
    return {y, k * absorption * (1.0 - f) * exposure / whole,
            y / (absorption - bend) - k * scatter_ratio / absorption * (1.0 - exposure) / whole};
  }
  const double x = bend * q;
  const double falling = std::exp(-x);
  // The last is d/db of (1 - exp(-b q)) / b, by its series near 0.
  return {contrast * q * (std::fabs(x) < 1e-5 ? 1.0 - 0.5 * x : (1.0 - falling) / x), contrast * falling,
          contrast * q * q * (std::fabs(x) < 1e-3 ? -0.5 + x / 3.0 : ((1.0 + x) * falling - 1.0) / (x * x))};
}

double FilmCurve::thickness_change(double exposure, double slope, double more) const {
  if (scattered) {
    const double f = scatter();
    const double whole = ((1.0 - f) * exposure + f) * std::exp(-more / gain());
    const double left = (whole - f) / ((1.0 - f) * exposure);
    return -std::log(std::max(least_left, left)) / absorption;
  }
  // slope = contrast exp(-b q), so that the change is -ln(1 - b more / slope) / b.
  const double x = bend * more / slope;
  if (std::fabs(x) < 1e-4) return more / slope * (1.0 + 0.5 * x);
  return -std::log(std::max(least_left, 1.0 - x)) / bend;
}

}  // namespace canalrule
