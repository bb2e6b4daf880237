#include "chord.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

namespace {

/// Rows averaged over this many parts where the tip is.
constexpr int tip_parts = 10;

}  // namespace

void add_chord(const StripGrid& grid, double rho, double share, double centre, double weight,
               const RowThickness& row) {
  const double h = grid.step_px;
  const int from = std::max(0, static_cast<int>(std::floor(grid.column_of(centre - rho) - 0.5)));
  const int to = std::min(grid.columns - 1, static_cast<int>(std::ceil(grid.column_of(centre + rho) + 0.5)));
  struct Edge {
    double area, angle, chord;
  };
  const auto at_edge = [&](double x) {
    const double inside = std::clamp(x, -rho, rho);
    const double height = std::sqrt(std::max(0.0, rho * rho - inside * inside));
    const double angle = std::asin(inside / rho);
    return Edge{inside * height + rho * rho * angle, angle, 2.0 * height};
  };
  Edge left = at_edge(grid.n_px(from) - 0.5 * h - centre);
  for (int j = from; j <= to; ++j) {
    const Edge right = at_edge(grid.n_px(j) + 0.5 * h - centre);
    row.value[j] += weight * (right.area - left.area) / h;
    row.by_radius[j] += weight * share * 2.0 * rho * (right.angle - left.angle) / h;
    row.by_centre[j] -= weight * (right.chord - left.chord) / h;
    left = right;
  }
}

void draw_row(const FillModel& model, const StripGrid& grid, double s, const RowThickness& row) {
  std::fill(row.value, row.value + grid.columns, 0.0);
  std::fill(row.by_radius, row.by_radius + grid.columns, 0.0);
  std::fill(row.by_centre, row.by_centre + grid.columns, 0.0);
  const double half = 0.5 * grid.step_px;
  if (s + half <= model.end_px) return;
  const double r = std::max(least_radius_px, model.radius_px(s));
  const double c = model.centre_px(s);
  if (s - half >= model.end_px + model.cap_px) {
    add_chord(grid, r, 1.0, c, 1.0, row);
    return;
  }
  for (int part = 0; part < tip_parts; ++part) {
    const double at = s - half + grid.step_px * (part + 0.5) / tip_parts;
    // The part that holds the tip counts by the share of it that is filled.
    const double part_half = half / tip_parts;
    const double filled = std::clamp((at + part_half - model.end_px) / (2.0 * part_half), 0.0, 1.0);
    if (filled <= 0.0) continue;
    const double middle = std::max(at, 0.5 * (at + part_half + model.end_px));
    const double x = model.cap_px > 0.0 ? std::min(1.0, (middle - model.end_px) / model.cap_px) : 1.0;
    const double share = std::sqrt(std::max(1e-6, 1.0 - (1.0 - x) * (1.0 - x)));
    add_chord(grid, r * share, share, c, filled / tip_parts, row);
  }
}

}  // namespace canalrule
