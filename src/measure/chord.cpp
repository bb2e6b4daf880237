#include "chord.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace canalrule {

namespace {

/// Rows averaged over this many parts where the tip is. Chosen here; tests/truth/terminus.cpp.
constexpr int tip_parts = 10;

/// The first and the last column that a chord reaches.
std::pair<int, int> columns_of(const StripGrid& grid, double rho, double centre) {
  return {std::max(0, static_cast<int>(std::floor(grid.column_of(centre - rho) - 0.5))),
          std::min(grid.columns - 1, static_cast<int>(std::ceil(grid.column_of(centre + rho) + 0.5)))};
}

}  // namespace

void add_chord(const StripGrid& grid, double rho, double share, double centre, double weight,
               const RowThickness& row) {
  const double h = grid.step_px;
  const auto [from, to] = columns_of(grid, rho, centre);
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
  // A film's pixel averages the exposure: the row is as thick as what lets as much of it through.
  const auto columns = static_cast<std::size_t>(grid.columns);
  std::vector<double> thick(columns), by_radius(columns), by_centre(columns), passed(columns, 0.0);
  const auto [first, last] = columns_of(grid, r, c);
  double all = 0.0;
  for (int part = 0; part < tip_parts; ++part) {
    const double at = s - half + grid.step_px * (part + 0.5) / tip_parts;
    // The part that holds the tip counts by the share of it that is filled.
    const double part_half = half / tip_parts;
    const double filled = std::clamp((at + part_half - model.end_px) / (2.0 * part_half), 0.0, 1.0);
    if (filled <= 0.0) continue;
    const double middle = std::max(at, 0.5 * (at + part_half + model.end_px));
    const double x = model.cap_px > 0.0 ? std::min(1.0, (middle - model.end_px) / model.cap_px) : 1.0;
    const double share = std::sqrt(std::max(1e-6, 1.0 - (1.0 - x) * (1.0 - x)));
    for (std::vector<double>* of : {&thick, &by_radius, &by_centre}) std::fill(of->begin(), of->end(), 0.0);
    add_chord(grid, r * share, share, c, 1.0, {thick.data(), by_radius.data(), by_centre.data()});
    const double weight = filled / tip_parts;
    all += weight;
    for (int j = first; j <= last; ++j) {
      const auto k = static_cast<std::size_t>(j);
      const double exposed = weight * std::exp(-model.absorption * thick[k]);
      passed[k] += exposed;
      row.by_radius[j] += exposed * by_radius[k];
      row.by_centre[j] += exposed * by_centre[k];
    }
  }
  for (int j = first; j <= last; ++j) {
    const double whole = passed[static_cast<std::size_t>(j)] + 1.0 - all;
    row.value[j] = -std::log(whole) / model.absorption;
    row.by_radius[j] /= whole;
    row.by_centre[j] /= whole;
  }
}

}  // namespace canalrule
