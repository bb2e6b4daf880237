#pragma once

#include <canalrule/audit/summary.hpp>

#include "gathered.hpp"
#include "shares.hpp"

namespace canalrule::audit {

/// Where along the canals voids lie.
VoidsAlong voids_along(const Gathered& gathered, const Selection& selection, double level);

}  // namespace canalrule::audit
