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
/// - else its slope is taken for a parabola in y, which a logistic curve's and an exponential's are. With w = y over
///   the contrast of rows at their mean level: dw/dq = 1 - bend w - turn w^2. A row whose own level lies `level` higher
///   there begins farther along the same curve, where the slope is `share` of it.
/// Its slope dy/dq at E = 1 is the contrast, where f is f0.
struct FilmCurve {
  double contrast = 1.0, bend = 0.0, absorption = 0.01;
  bool scattered = false;
  double scatter_ratio = 1.0;  ///< f over f0
  double turn = 0.0;           ///< px^-2
  double level = 0.0;          ///< px of thickness
  double share = 1.0;

  struct Point {
    double y, slope, by_bend, by_turn;  ///< y, dy/dq, dy/dbend, dy/dturn
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

  /// Steepest that a display's curve becomes, over its slope beside the fill: 1 / this squared. Chosen here;
  /// tests/truth/width.cpp.
  static constexpr double least_fall = 0.1;

  double scatter() const { return std::min(most_scatter, scatter_ratio * bend / absorption); }
  double gain() const { return contrast / (absorption - bend); }
  double own_bend() const { return bend + 2.0 * turn * level; }
  double own_turn() const { return turn * share; }
  Point displayed(double q) const;
};

inline FilmCurve::Point FilmCurve::at(double exposure, double q) const {
  if (!scattered) return displayed(q);
  const double f = scatter();
  const double k = gain();
  const double whole = (1.0 - f) * exposure + f;
  const double y = -k * std::log(whole);
  return {y, k * absorption * (1.0 - f) * exposure / whole,
          y / (absorption - bend) - k * scatter_ratio / absorption * (1.0 - exposure) / whole, 0.0};
}

inline FilmCurve::Point FilmCurve::displayed(double q) const {
  // With p = b^2 + 4 a, r = sqrt(p) / 2, C = cosh(r q), S = sinh(r q) / (2 r): w = 2 S / (C + b S), and dw/dq is one
  // over the square of that denominator. Where p < 0 they are cosine and sine; near 0 their series.
  const double b = own_bend();
  const double p = b * b + 4.0 * own_turn();
  const double x2 = 0.25 * p * q * q;
  double c = 1.0 + 0.5 * x2;
  double s = 0.5 * q * (1.0 + x2 / 6.0);
  double s_by_p = q * q * q / 48.0 * (1.0 + 0.1 * x2);
  if (std::fabs(x2) > 1e-4) {
    const double root = std::sqrt(std::fabs(p));
    const double x = 0.5 * root * q;
    const double up = p > 0.0 ? std::exp(x) : 0.0;
    c = p > 0.0 ? 0.5 * (up + 1.0 / up) : std::cos(x);
    s = (p > 0.0 ? 0.5 * (up - 1.0 / up) : std::sin(x)) / root;
    s_by_p = (0.5 * q * c - s) / (2.0 * p);
  }
  const double d = std::max(least_fall, c + b * s);
  const double by_p = 2.0 * (s_by_p * c - 0.25 * q * s * s) / (d * d);
  const double by_bend = 2.0 * b * by_p - 2.0 * s * s / (d * d);
  return {contrast * 2.0 * s / d, contrast / (d * d), contrast * by_bend,
          contrast * (4.0 * share * by_p + 2.0 * level * by_bend)};
}

}  // namespace canalrule
