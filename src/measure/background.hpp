#pragma once

#include <vector>

#include "local_basis.hpp"

namespace canalrule {

/// The background beside a fill: smooth coefficients of n^2 and n^3, n in units of `flank_px`, beside a level and a
/// slope that every row has of its own.
struct Background {
  LocalBasis basis;
  double flank_px = 1.0;
  std::vector<double> square, cube;

  /// Nothing yet, over [from, to].
  static Background over(double from_px, double to_px, double knots_px, double flank_px);
  /// This one's, nearly, with another's knots and flanks; nothing where it has none itself.
  Background moved_to(const Background& other) const;
};

}  // namespace canalrule
