#pragma once

#include <canalrule/geometry/strip.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// A fill's coronal end, s: where, row by row, its height over its flanks falls to half of what it is a little
/// further apically; the traced end where it doesn't.
double coronal_end(const Strip& strip, const FillModel& model, double traced_px, double mm);

}  // namespace canalrule
