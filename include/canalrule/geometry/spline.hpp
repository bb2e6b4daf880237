#pragma once

#include <vector>

namespace canalrule {

/// Natural cubic spline through (t_i, y_i): second derivative 0 at both ends, and a straight line
/// beyond them (de Boor, A Practical Guide to Splines, 1978, ch. IV). Needs 2 or more strictly
/// increasing t; anything else is a fault of the caller.
class NaturalSpline {
 public:
  NaturalSpline(std::vector<double> t, std::vector<double> y);

  double value(double t) const;
  double slope(double t) const;

 private:
  std::size_t piece(double t) const;

  std::vector<double> t_;
  std::vector<double> y_;
  std::vector<double> second_;  ///< second derivatives at the knots
};

}  // namespace canalrule
