#pragma once

#include <canalrule/base/point.hpp>

namespace canalrule {

/// A drawn path whose points lie so close that a hand's tremble would bend the line through them: the lines through the
/// points about places along it, each by a Gaussian of their distance, taken there (local linear regression: Cleveland,
/// J Am Stat Assoc 1979;74:829). A path of points farther apart stays as drawn. `aspect`: a row's height over a
/// column's width.
Polyline steadied(const Polyline& drawn, double aspect, double mm_per_px);

}  // namespace canalrule
