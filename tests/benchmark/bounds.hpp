#pragma once

#include <cstdint>
#include <optional>

#include "known_film.hpp"

/// The best that any method could do on a simulated film: the Cramér-Rao bound of its figures (Rao 1945; Cramér 1946: the inverse of Fisher's information bounds the covariance of unbiased estimates), and the
/// observer that knows fill and noise and looks for a gap of known shape (the prewhitening matched filter: North
/// 1943; Barrett and Myers, Foundations of Image Science, 2004). Derivatives are differences of the phantom's
/// own film without noise; nothing of what measures is used.
namespace canalrule_benchmark {

/// Bounds as standard deviations, mm. Unknown besides the figure itself: contrast, blur, the line's place and
/// direction, and, beside the fill (0.8 mm), a level, slope and curvature across it, each of which may change
/// linearly along the stretch.
struct Bounds {
  double terminus_mm = 0.0;        ///< length of the tip's rounding and the diameter at every 0.5 mm free,
                                   ///< as are width and taper of the empty canal
  double width_mm = 0.0;           ///< at the fill's middle, the diameter free at every 0.5 mm
  double straight_width_mm = 0.0;  ///< there, the fill being known to be a cone
  double taper = 0.0;              ///< overall, of a cone
};
Bounds bounds_of(const canalrule::phantom::Description& description);

/// Of the only gap of a film (across the canal): its place, length and deficit free as well.
struct GapBounds {
  double place_mm = 0.0, length_mm = 0.0, deficit = 0.0;
};
GapBounds gap_bounds_of(const canalrule::phantom::Description& with_gap);

}  // namespace canalrule_benchmark
