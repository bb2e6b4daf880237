#pragma once

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
  double scatter() const;
  double gain() const;
};

}  // namespace canalrule
