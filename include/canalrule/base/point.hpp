#pragma once

#include <vector>

namespace canalrule {

/// A place on the film, in pixels of the stored image: x to the right, y down, (0, 0) the outer
/// corner of the top-left pixel, so that its centre is (0.5, 0.5) (DICOM PS3.3 C.18.6, SCOORD).
struct Point {
  double x = 0.0;
  double y = 0.0;
  friend bool operator==(const Point&, const Point&) = default;
};

using Polyline = std::vector<Point>;

}  // namespace canalrule
