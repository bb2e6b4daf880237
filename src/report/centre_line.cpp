#include "centre_line.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule::report {

CentreLine::CentreLine(const std::vector<CentreAt>& points, const std::function<Point(Point)>& to_frame) {
  for (const CentreAt& each : points) {
    if (!at_.empty() && !(each.at_mm > at_.back())) continue;
    at_.push_back(each.at_mm);
    points_.push_back(to_frame(each.position));
  }
}

Point CentreLine::place(double at_mm) const {
  const auto above = std::lower_bound(at_.begin(), at_.end(), at_mm);
  const auto last = static_cast<std::ptrdiff_t>(at_.size()) - 1;
  const auto upper = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(above - at_.begin(), 1, last));
  const std::size_t lower = upper - 1;
  const double share = (at_mm - at_[lower]) / (at_[upper] - at_[lower]);
  return {points_[lower].x + share * (points_[upper].x - points_[lower].x),
          points_[lower].y + share * (points_[upper].y - points_[lower].y)};
}

Point CentreLine::across(double at_mm) const {
  constexpr double reach_mm = 0.4;  // the direction is that of a chord this long to both sides
  const Point apical = place(at_mm - reach_mm);
  const Point coronal = place(at_mm + reach_mm);
  const double x = coronal.x - apical.x;
  const double y = coronal.y - apical.y;
  const double length = std::hypot(x, y);
  if (!(length > 0.0)) return {1.0, 0.0};
  return {-y / length, x / length};
}

Point CentreLine::beside(double at_mm, double offset) const {
  const Point centre = place(at_mm);
  const Point side = across(at_mm);
  return {centre.x + offset * side.x, centre.y + offset * side.y};
}

double CentreLine::offset_of(double at_mm, Point point) const {
  const Point centre = place(at_mm);
  const Point side = across(at_mm);
  return (point.x - centre.x) * side.x + (point.y - centre.y) * side.y;
}

bool fill_found(const CanalResult& canal) { return canal.terminus || !canal.width.empty(); }

}  // namespace canalrule::report
