#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

namespace canalrule {

/// What of the film's radiopacity lies beside a fill, row by row along it.
struct Surroundings {
  double first_s_px = 0.0, row_px = 1.0;
  std::vector<double> level;  ///< less their mean along the fill

  double at(double s) const;
};

/// How a row's blurred exposure E, 1 beside the fill, shows as radiopacity y. With q = -ln(E) / absorption:
/// - where the film's curve is known, scatter is a share f of the exposure beside the fill that no fill takes away:
///   y = -gain ln((1 - f) E + f), gain = contrast / (absorption (1 - f0)), f0 = bend / absorption;
/// - else `bend` stands for that and for a display's curve: y = contrast (1 - exp(-bend q)) / bend.
/// Its slope dy/dq at E = 1 is the contrast, where f is f0.
struct FilmCurve {
  double contrast = 1.0, bend = 0.0, absorption = 0.01;
  bool scattered = false;
  double scatter_ratio = 1.0;  ///< f over f0

  struct Point {
    double y, slope, by_bend;  ///< y, dy/dq, dy/dbend
  };
  Point at(double exposure, double q) const;  ///< `q` is used where it isn't `scattered`

  /// Change of q that shows as `more` radiopacity than at `exposure`, where the slope is `slope`.
  double thickness_change(double exposure, double slope, double more) const;

 private:
  /// More scatter than this leaves no film to measure. Chosen here; tests/truth/width.cpp.
  static constexpr double most_scatter = 0.9;

  /// Least of a fill's exposure, or of a display's slope, that a residual is turned back to, as a share.
  /// Chosen here; tests/truth/voids.cpp.
  static constexpr double least_left = 0.05;

  double scatter() const { return std::min(most_scatter, scatter_ratio * bend / absorption); }
  double gain() const { return contrast / (absorption - bend); }
};

inline FilmCurve::Point FilmCurve::at(double exposure, double q) const {
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

inline double FilmCurve::thickness_change(double exposure, double slope, double more) const {
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
