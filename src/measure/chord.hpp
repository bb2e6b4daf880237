#pragma once

#include <canalrule/geometry/strip.hpp>

#include "fill_model.hpp"

namespace canalrule {

inline constexpr double least_radius_px = 0.3;

/// A row's mean thickness over each column's width, and its derivatives by the radius and the centre:
/// `columns` values each.
struct RowThickness {
  double* value;
  double* by_radius;
  double* by_centre;
};

/// Adds `weight` times the chord of radius rho about `centre`; `share` is drho/dr.
void add_chord(const StripGrid& grid, double rho, double share, double centre, double weight,
               const RowThickness& row);

/// Thickness of a fill in the row at s, as high as a column is wide.
void draw_row(const FillModel& model, const StripGrid& grid, double s, const RowThickness& row);

}  // namespace canalrule
