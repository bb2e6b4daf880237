#pragma once

#include <canalrule/geometry/strip.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// A fill's coronal end, s: where, row by row, its height over its flanks falls to half of what it is a little
/// further apically; the traced end where it doesn't.
double coronal_end(const Strip& strip, const FillModel& model, double traced_px, double mm);

/// Where what lies along a model's centre line, its own fill or another's over it, stops being brighter than
/// the darker of its flanks, s, looked for from `from_px` towards the crown; the strip's end where it doesn't.
double last_filled(const Strip& strip, const FillModel& model, double from_px, double mm);

}  // namespace canalrule
