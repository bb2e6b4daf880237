#pragma once

#include <array>
#include <canalrule/record/result.hpp>
#include <opencv2/core.hpp>

#include "fill_fit.hpp"

namespace canalrule {

/// How a void shows across the canal.
struct Pattern {
  VoidKind kind;
  double place;  ///< middle across the canal, in radii from the centre
  double width;  ///< across the canal, in diameters
  bool any_radius = false;  ///< blind to what another radius of the fill would show
};
/// Chosen here; tests/truth/voids.cpp. A gap along a wall is a narrow one or goes past the canal's middle.
inline constexpr std::array<Pattern, 8> patterns{{{VoidKind::across, 0.0, 1.0},
                                                  {VoidKind::inside, 0.0, 0.35},
                                                  {VoidKind::inside, 0.0, 0.65},
                                                  {VoidKind::along_wall, -0.675, 0.325},
                                                  {VoidKind::along_wall, 0.675, 0.325},
                                                  {VoidKind::along_wall, -0.4, 0.6},
                                                  {VoidKind::along_wall, 0.4, 0.6},
                                                  {VoidKind::across, 0.0, 1.0, true}}};

/// What a deficit of 1 of a kind would take from the film, row by row.
cv::Mat draw_pattern(const Pattern& pattern, const FillFit& fit, const StripGrid& grid);

/// Film less model, the film's curve undone: linear in missing thickness however strong the deficit is.
/// Positive where attenuation is missing.
cv::Mat missing_radiopacity(const FillFit& fit, const StripGrid& grid);

}  // namespace canalrule
