#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/geometry/path.hpp>
#include <cmath>

namespace canalrule {

namespace {

/// Spacing of the table of arc lengths in px: the chord of a quarter pixel differs from the arc of a
/// canal (radius over 50 px) by less than 1e-6 of it. Chosen here; tests/unit/geometry holds it.
constexpr double table_step_px = 0.25;

/// Spacing of the places that a projection starts from, px: well under the radius of any canal's bend (over 50
/// px), so that the nearest one lies in the right valley. Chosen here; tests/unit/geometry holds it.
constexpr double coarse_step_px = 8.0;

}  // namespace

CanalPath::CanalPath(const Polyline& points, Point apex, double row_to_column_aspect)
    : aspect_(row_to_column_aspect) {
  std::vector<double> x;
  std::vector<double> y;
  for (auto point = points.rbegin(); point != points.rend(); ++point) {
    const double px = point->x;
    const double py = point->y * aspect_;
    if (!x.empty()) {
      const double chord = std::hypot(px - x.back(), py - y.back());
      if (chord < 1e-6) continue;
      knots_.push_back(knots_.back() + chord);
    } else {
      knots_.push_back(0.0);
    }
    x.push_back(px);
    y.push_back(py);
  }
  ensure(x.size() >= 2, "a canal's path has two different points");
  xy_.emplace_back(knots_, x);
  xy_.emplace_back(knots_, y);

  const double chord = knots_.back();
  const auto pieces = static_cast<std::size_t>(std::max(8.0, std::ceil(chord / table_step_px)));
  step_ = chord / static_cast<double>(pieces);
  arc_.resize(pieces + 1, 0.0);
  Point before{xy_[0].value(0.0), xy_[1].value(0.0)};
  for (std::size_t i = 1; i <= pieces; ++i) {
    const double t = step_ * static_cast<double>(i);
    const Point here{xy_[0].value(t), xy_[1].value(t)};
    arc_[i] = arc_[i - 1] + std::hypot(here.x - before.x, here.y - before.y);
    before = here;
  }
  length_ = arc_.back();
  const auto coarse = static_cast<int>(std::max(1.0, std::ceil(length_ / coarse_step_px)));
  for (int i = 0; i <= coarse; ++i) coarse_.push_back(square_at(length_ * i / coarse));
  apex_at_ = project_square({apex.x, apex.y * aspect_}).s_px;
}

double CanalPath::parameter(double along) const {
  if (along <= 0.0) return along / std::hypot(xy_[0].slope(0.0), xy_[1].slope(0.0));
  const double end = knots_.back();
  if (along >= length_) return end + (along - length_) / std::hypot(xy_[0].slope(end), xy_[1].slope(end));
  const auto after = std::upper_bound(arc_.begin(), arc_.end(), along);
  const auto i = static_cast<std::size_t>(after - arc_.begin()) - 1;
  return step_ * (static_cast<double>(i) + (along - arc_[i]) / (arc_[i + 1] - arc_[i]));
}

Point CanalPath::square_at(double along) const {
  const double t = parameter(along);
  return {xy_[0].value(t), xy_[1].value(t)};
}

Point CanalPath::direction(double s_px) const {
  const double t = parameter(s_px + apex_at_);
  const double dx = xy_[0].slope(t);
  const double dy = xy_[1].slope(t);
  const double length = std::hypot(dx, dy);
  return {dx / length, dy / length};
}

Point CanalPath::at(double s_px, double n_px) const {
  const Point centre = square_at(s_px + apex_at_);
  if (n_px == 0.0) return {centre.x, centre.y / aspect_};
  const Point along = direction(s_px);
  return {centre.x - along.y * n_px, (centre.y + along.x * n_px) / aspect_};
}

CanalPath::Projection CanalPath::project_square(Point square) const {
  // The nearest of coarse places and of the straight continuations' feet.
  std::size_t nearest = 0;
  double least = 1e300;
  for (std::size_t i = 0; i < coarse_.size(); ++i) {
    const double dx = coarse_[i].x - square.x;
    const double dy = coarse_[i].y - square.y;
    if (dx * dx + dy * dy < least) {
      least = dx * dx + dy * dy;
      nearest = i;
    }
  }
  const double spacing = length_ / static_cast<double>(coarse_.size() - 1);
  struct Place {
    Point at, direction;
  };
  const auto place = [&](double along) {
    const double t = parameter(along);
    const double dx = xy_[0].slope(t);
    const double dy = xy_[1].slope(t);
    const double size = std::hypot(dx, dy);
    return Place{{xy_[0].value(t), xy_[1].value(t)}, {dx / size, dy / size}};
  };
  const auto ahead = [&](double along) {
    const Place p = place(along);
    return (square.x - p.at.x) * p.direction.x + (square.y - p.at.y) * p.direction.y;
  };
  // Beyond an end the foot lies on a straight line: one step reaches it.
  double along = spacing * static_cast<double>(nearest);
  const bool before = nearest == 0 && ahead(0.0) <= 0.0;
  const bool behind = nearest + 1 == coarse_.size() && ahead(length_) >= 0.0;
  if (before || behind) {
    along = (before ? 0.0 : length_) + ahead(before ? 0.0 : length_);
  } else {
    // Where the foot is neither ahead nor behind: by false position (Illinois), which keeps it bracketed.
    double low = std::max(0.0, along - spacing);
    double high = std::min(length_, along + spacing);
    double at_low = ahead(low);
    double at_high = ahead(high);
    along = std::fabs(at_low) < std::fabs(at_high) ? low : high;
    for (int round = 0; round < 60 && at_low > 0.0 && at_high < 0.0 && high - low > 1e-9; ++round) {
      along = low + (high - low) * at_low / (at_low - at_high);
      const double here = ahead(along);
      if (std::fabs(here) < 1e-9) break;
      if (here > 0.0) {
        low = along;
        at_low = here;
        at_high *= 0.5;
      } else {
        high = along;
        at_high = here;
        at_low *= 0.5;
      }
    }
  }
  const Place foot = place(along);
  return {along, foot.direction.x * (square.y - foot.at.y) - foot.direction.y * (square.x - foot.at.x)};
}

CanalPath::Projection CanalPath::project(Point image_point) const {
  Projection found = project_square({image_point.x, image_point.y * aspect_});
  found.s_px -= apex_at_;
  return found;
}

}  // namespace canalrule
