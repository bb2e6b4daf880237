#pragma once

#include "fill_fit.hpp"

namespace canalrule {

/// What edge enhancement leaves: the film close beside the fill lower than farther out, as a share of
/// the fill's height, and how surely, in standard errors of rows taken `independent_px` apart.
struct Undershoot {
  double share = 0.0;
  double sure = 0.0;
};

Undershoot find_undershoot(const FillFit& fit, const StripGrid& grid, double coronal_px,
                           double independent_px);

/// How far the fitted film falls below its flanks beside the fill, as a share of the fill's height.
double halo_of(const FillFit& fit, const StripGrid& grid, double coronal_px);

/// How much of a void at s sharpening takes away along the canal, and puts on it, of what its pattern across shows,
/// which is sharpened itself: by the fill's mean thickness in its middle through both Gaussians.
double halo_along(const FillModel& model, double s);

}  // namespace canalrule
