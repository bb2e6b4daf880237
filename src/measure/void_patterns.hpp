#pragma once

#include <array>
#include <canalrule/record/result.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// How a void shows across the canal.
struct Pattern {
  VoidKind kind;
  double place;  ///< middle across the canal, in radii from the centre
  double width;  ///< across the canal, in diameters
};
/// Chosen here; tests/truth/voids.cpp. A gap along a wall is a narrow one or goes past the canal's middle.
inline constexpr std::array<Pattern, 7> patterns{{{VoidKind::across, 0.0, 1.0},
                                                  {VoidKind::inside, 0.0, 0.35},
                                                  {VoidKind::inside, 0.0, 0.65},
                                                  {VoidKind::along_wall, -0.675, 0.325},
                                                  {VoidKind::along_wall, 0.675, 0.325},
                                                  {VoidKind::along_wall, -0.4, 0.6},
                                                  {VoidKind::along_wall, 0.4, 0.6}}};

/// The thickness that a void of a deficit of 1 takes at a distance n from the fill's centre, px: of `blurred`, the
/// fill's thickness there as the film's blur leaves it, and `middle`, the same in the fill's middle.
double thickness_taken(const Pattern& pattern, const FillModel& model, double s, double n, double blurred,
                       double middle);

}  // namespace canalrule
