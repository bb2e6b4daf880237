#pragma once

#include <cmath>
#include <cstddef>

#include <canalrule/base/point.hpp>

namespace canalrule::desk {

inline double distance_px(Point a, Point b) { return std::hypot(b.x - a.x, b.y - a.y); }

inline double length_px(const Polyline& line) {
  double length = 0.0;
  for (std::size_t i = 1; i < line.size(); ++i) length += distance_px(line[i - 1], line[i]);
  return length;
}

}  // namespace canalrule::desk
