#include <canalrule/desk/unrolled.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/geometry/strip.hpp>

namespace canalrule::desk {

namespace {

/// Shown beyond the lowest and highest place of interest, and at least to each side; chosen here for looking.
constexpr double margin_mm = 1.0, least_half_width_mm = 1.0;

/// Shown to each side, in widths of the widest place of the fill.
constexpr double widths_to_side = 1.2;

Polyline line_of(const CanalResult& canal) {
  if (canal.centre_line.size() < 2) return canal.drawn_path;
  Polyline line;
  for (auto centre = canal.centre_line.rbegin(); centre != canal.centre_line.rend(); ++centre)
    line.push_back(centre->position);
  return line;
}

/// The place that the line's own arc lengths are counted from, and its distance from the apex.
struct Origin {
  Point position;
  double at_mm = 0.0;
};

Origin origin_of(const CanalResult& canal) {
  if (canal.centre_line.size() < 2) return {canal.drawn_path.back(), 0.0};
  const auto nearest = std::min_element(
      canal.centre_line.begin(), canal.centre_line.end(),
      [](const CentreAt& a, const CentreAt& b) { return std::fabs(a.at_mm) < std::fabs(b.at_mm); });
  return {nearest->position, nearest->at_mm};
}

}  // namespace

std::optional<UnrolledCanal> UnrolledCanal::of(const CanalResult& canal, const ScaleResult& scale) {
  const Polyline line = line_of(canal);
  if (line.size() < 2) return std::nullopt;
  const Origin origin = origin_of(canal);
  UnrolledCanal unrolled(CanalPath(line, origin.position, scale.row_to_column_aspect), scale.mm_per_pixel,
                         origin.at_mm);
  double lowest = std::min(0.0, unrolled.path_.first_px() * scale.mm_per_pixel + origin.at_mm);
  for (const MaterialBeyond& material : canal.material_beyond_apex)
    lowest = std::min(lowest, material.from_mm);
  double widest = 0.0;
  for (const WidthAt& width : canal.width) widest = std::max(widest, width.width_mm);
  unrolled.first_mm_ = lowest - margin_mm;
  unrolled.last_mm_ = unrolled.path_.last_px() * scale.mm_per_pixel + origin.at_mm + margin_mm;
  unrolled.half_width_mm_ = std::max(least_half_width_mm, widths_to_side * widest);
  return unrolled;
}

Point UnrolledCanal::on_film(const Place& place) const {
  // With the crown up, the right side of the picture is the right of a walk towards the crown.
  return path_.at((place.at_mm - origin_mm_) / mm_per_px_, place.across_mm / mm_per_px_);
}

UnrolledCanal::Place UnrolledCanal::of_film(Point at) const {
  const CanalPath::Projection found = path_.project(at);
  return {found.s_px * mm_per_px_ + origin_mm_, found.n_px * mm_per_px_};
}

cv::Mat UnrolledCanal::picture(const Film& film, const Tone& tone, double px_per_mm) const {
  const double step_px = 1.0 / (px_per_mm * mm_per_px_);
  StripGrid grid;
  grid.step_px = step_px;
  grid.rows = std::max(1, static_cast<int>(std::lround((last_mm_ - first_mm_) * px_per_mm)));
  grid.columns = std::max(1, static_cast<int>(std::lround(2.0 * half_width_mm_ * px_per_mm)));
  grid.first_s_px = (first_mm_ - origin_mm_) / mm_per_px_ + step_px / 2.0;
  grid.first_n_px = -half_width_mm_ / mm_per_px_ + step_px / 2.0;
  Strip strip = sample_strip(film.grey, film.unusable, path_, grid);
  Film straight = film;
  cv::flip(strip.value, straight.grey, 0);
  cv::flip(strip.usable, straight.unusable, 0);
  cv::bitwise_not(straight.unusable, straight.unusable);
  return shown_picture(straight, tone);
}

}  // namespace canalrule::desk
