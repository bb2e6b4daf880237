#include "curvature.hpp"

#include <algorithm>
#include <canalrule/geometry/path.hpp>
#include <cmath>

namespace canalrule {

namespace {

constexpr double mark_mm = 0.1;  ///< a hand's offset; chosen here, tests/unit/measure/curvature.cpp
constexpr double shortest_mm = 1.0;  ///< path of which a third has an axis; chosen here, the same test
constexpr double degrees = 57.29577951308232;

}  // namespace

std::optional<Quantity> schneider_angle(const CanalMarks& marks, double aspect, double mm_per_px) {
  const double mark_px = mark_mm / mm_per_px;
  const CanalPath path(marks.path, marks.apex, aspect);
  const double top = path.last_px();
  const double bottom = std::max(0.0, path.first_px());
  const double length = top - bottom;
  if (length * mm_per_px < shortest_mm) return std::nullopt;
  const auto square = [&](double s) {
    const Point p = path.at(s);
    return Point{p.x, p.y * aspect};
  };
  // The coronal third's axis: least squares by principal direction of evenly spaced points.
  const int count = 60;
  double mx = 0, my = 0, xx = 0, xy = 0, yy = 0;
  for (int k = 0; k < count; ++k) {
    const Point p = square(top - length / 3.0 * k / (count - 1));
    mx += p.x / count;
    my += p.y / count;
  }
  for (int k = 0; k < count; ++k) {
    const Point p = square(top - length / 3.0 * k / (count - 1));
    xx += (p.x - mx) * (p.x - mx);
    xy += (p.x - mx) * (p.y - my);
    yy += (p.y - my) * (p.y - my);
  }
  const double angle = 0.5 * std::atan2(2.0 * xy, xx - yy);
  Point axis{std::cos(angle), std::sin(angle)};
  const Point start = square(top);
  const Point end = square(bottom);
  if (axis.x * (end.x - start.x) + axis.y * (end.y - start.y) < 0.0) axis = {-axis.x, -axis.y};
  const auto off = [&](double s) {
    const Point p = square(s);
    return std::fabs(axis.x * (p.y - my) - axis.y * (p.x - mx));
  };
  double leaves = bottom;
  for (double s = bottom; s <= top; s += length / 400.0) {
    if (off(s) <= mark_px) {
      leaves = s;
      break;
    }
  }
  const Point knee = square(leaves);
  const double run = std::hypot(end.x - knee.x, end.y - knee.y);
  if (run < 5.0 * mark_px) return Quantity{0.0, degrees * std::sqrt(2.0) * mark_px / (length / 3.0)};
  const double cosine = (axis.x * (end.x - knee.x) + axis.y * (end.y - knee.y)) / run;
  const double angle_deg = degrees * std::acos(std::clamp(cosine, -1.0, 1.0));
  // Each line's direction is off by its two ends' marks; where the canal leaves its axis, by a twentieth
  // of its length, which turns the second line by as much of the angle.
  const double marks_deg = degrees * std::sqrt(2.0) * std::hypot(mark_px / (length / 3.0), mark_px / run);
  return Quantity{angle_deg, std::hypot(marks_deg, angle_deg * 0.05 * length / run)};
}

}  // namespace canalrule
