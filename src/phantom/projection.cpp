#include <canalrule/phantom/projection.hpp>

#include <algorithm>
#include <numbers>

#include <canalrule/base/fault.hpp>

namespace canalrule::phantom {

namespace {
constexpr double radians = std::numbers::pi / 180.0;
}

Projection::Projection(const Beam& beam, const Detector& detector)
    : pixel_mm_(detector.pixel_mm),
      half_columns_(0.5 * detector.columns),
      half_rows_(0.5 * detector.rows),
      source_{0.0, 0.0, beam.source_to_detector_mm} {
  const double tilt = beam.detector_tilt_deg * radians;
  down_ = {0.0, std::cos(tilt), std::sin(tilt)};
  normal_ = {0.0, -std::sin(tilt), std::cos(tilt)};
}

Point Projection::on_film(Vec3 place) const {
  const Vec3 ray = place - source_;
  const double t = -dot(source_, normal_) / dot(ray, normal_);
  const Vec3 hit = source_ + t * ray;
  return {hit.x / pixel_mm_ + half_columns_, dot(hit, down_) / pixel_mm_ + half_rows_};
}

Vec3 Projection::on_detector(Point pixel) const {
  const double u = (pixel.x - half_columns_) * pixel_mm_;
  const double v = (pixel.y - half_rows_) * pixel_mm_;
  return {u, v * down_.y, v * down_.z};
}

Vec3 Projection::at_height(Point pixel, double z) const {
  const Vec3 ray = on_detector(pixel) - source_;
  return source_ + ((z - source_.z) / ray.z) * ray;
}

ToothFrame tooth_frame(const Tooth& tooth, const Beam& beam, const Detector& detector) {
  const Projection projection(beam, detector);
  const Point apex{tooth.apex_x * detector.columns, tooth.apex_y * detector.rows};
  const double r = tooth.rotation_deg * radians, t = tooth.tilt_deg * radians;
  const double up = tooth.upper ? 1.0 : -1.0;
  const Vec3 flat{-up * std::sin(r), up * std::cos(r), 0.0};
  const Vec3 to_source{0.0, 0.0, 1.0};
  ToothFrame frame;
  frame.origin = projection.at_height(apex, beam.object_to_detector_mm);
  frame.along = std::cos(t) * flat + std::sin(t) * to_source;
  frame.depth = std::cos(t) * to_source - std::sin(t) * flat;
  frame.across = cross(frame.depth, frame.along);
  return frame;
}

double Line::interpolate(const std::vector<double>& v, double arc_mm) const {
  const double at = std::clamp((arc_mm - first_mm) / step_mm, 0.0, static_cast<double>(v.size() - 1));
  const auto i = std::min(static_cast<std::size_t>(at), v.size() - 2);
  const double share = at - static_cast<double>(i);
  return v[i] + share * (v[i + 1] - v[i]);
}

double Line::film_px_at(double arc_mm) const { return interpolate(film_px, arc_mm); }

Point Line::film_at(double arc_mm) const {
  const double at = std::clamp((arc_mm - first_mm) / step_mm, 0.0, static_cast<double>(film.size() - 1));
  const auto i = std::min(static_cast<std::size_t>(at), film.size() - 2);
  const double share = at - static_cast<double>(i);
  return {film[i].x + share * (film[i + 1].x - film[i].x), film[i].y + share * (film[i + 1].y - film[i].y)};
}

Line trace(const Curve& curve, const ToothFrame& frame, const Projection& projection, double from_mm,
           double to_mm, double step_mm) {
  ensure(from_mm < 0.0 && to_mm > 0.0 && step_mm > 0.0, "a line from beyond the apex to above it");
  const double splay = curve.splay_deg * radians, bend = curve.bend_deg * radians;
  const double azimuth = curve.bend_azimuth_deg * radians;
  const Vec3 straight = std::cos(splay) * frame.along + std::sin(splay) * frame.across;
  const Vec3 side = std::cos(splay) * frame.across - std::sin(splay) * frame.along;
  const Vec3 away = std::cos(azimuth) * side + std::sin(azimuth) * frame.depth;
  // The curvature rises and falls as a raised cosine over the bent part, and is nought at both its ends.
  const auto direction = [&](double s) {
    const double u = std::clamp(s / curve.bend_over_mm, 0.0, 1.0);
    const double left = 1.0 - u + std::sin(2.0 * std::numbers::pi * u) / (2.0 * std::numbers::pi);
    return std::cos(bend * left) * straight - std::sin(bend * left) * away;
  };
  const auto before = static_cast<std::size_t>(std::lround(-from_mm / step_mm));
  const auto after = static_cast<std::size_t>(std::lround(to_mm / step_mm));
  Line line;
  line.step_mm = step_mm;
  line.first_mm = -static_cast<double>(before) * step_mm;
  line.place.resize(before + after + 1);
  line.tangent.resize(line.place.size());
  const Vec3 apex = frame.place(curve.across_mm, curve.along_mm, curve.depth_mm);
  const Vec3 end = direction(0.0);
  for (std::size_t i = 0; i <= before; ++i) {
    line.place[before - i] = apex - (static_cast<double>(i) * step_mm) * end;
    line.tangent[before - i] = end;
  }
  Vec3 at = apex;
  for (std::size_t i = 1; i <= after; ++i) {
    // Simpson's rule over the step.
    const double s = static_cast<double>(i) * step_mm;
    const Vec3 mean =
        (1.0 / 6.0) * (direction(s - step_mm) + 4.0 * direction(s - 0.5 * step_mm) + direction(s));
    at = at + step_mm * mean;
    line.place[before + i] = at;
    line.tangent[before + i] = direction(s);
  }
  line.film.reserve(line.place.size());
  for (const Vec3& p : line.place) line.film.push_back(projection.on_film(p));
  line.film_px.assign(line.film.size(), 0.0);
  const auto gap = [&](std::size_t i) {
    return std::hypot(line.film[i + 1].x - line.film[i].x, line.film[i + 1].y - line.film[i].y);
  };
  for (std::size_t i = before; i + 1 < line.film.size(); ++i) line.film_px[i + 1] = line.film_px[i] + gap(i);
  for (std::size_t i = before; i > 0; --i) line.film_px[i - 1] = line.film_px[i] - gap(i - 1);
  return line;
}

Nearest::Found Nearest::find(Point p) {
  const auto& f = line_->film;
  const long last = static_cast<long>(f.size()) - 2;
  Found found;
  double share = 0.0, ex = 0.0, ey = 0.0, length2 = 1.0;
  for (int turn = 0; turn < 24; ++turn) {
    const auto i = static_cast<std::size_t>(index_);
    ex = f[i + 1].x - f[i].x;
    ey = f[i + 1].y - f[i].y;
    length2 = ex * ex + ey * ey;
    share = ((p.x - f[i].x) * ex + (p.y - f[i].y) * ey) / length2;
    if (share >= 0.0 && share <= 1.0) break;
    const long next = std::clamp(index_ + static_cast<long>(std::floor(share)), 0L, last);
    if (next == index_) break;
    index_ = next;
  }
  const auto i = static_cast<std::size_t>(index_);
  found.index = i;
  found.inside = share >= -0.5 && share <= 1.5;
  found.share = std::clamp(share, 0.0, 1.0);
  found.arc_mm = line_->first_mm + (static_cast<double>(i) + found.share) * line_->step_mm;
  const double rx = p.x - f[i].x, ry = p.y - f[i].y;
  found.off_px = (ex * ry - ey * rx) / std::sqrt(length2);
  return found;
}

}  // namespace canalrule::phantom
