#pragma once

#include <canalrule/geometry/path.hpp>

#include "fill_fit.hpp"

namespace canalrule {

/// Stretches in which one wall of a fitted fill draws in and comes back while the other goes on as the fill to both
/// sides promises: something is missing along that wall, and the outline followed it. `path`: what the model runs
/// along.
Stretches notches(const FillModel& model, const CanalPath& path, double coronal_px, double mm_per_px);

/// The model with its centre led through the stretches as the fill to both sides promises, where enough is seen of it;
/// the path may itself have followed what is missing there.
FillModel led_across(const FillModel& model, const CanalPath& path, double coronal_px, const Stretches& stretches,
                     double mm_per_px);

}  // namespace canalrule
