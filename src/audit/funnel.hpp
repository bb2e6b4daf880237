#pragma once

#include <canalrule/audit/summary.hpp>

#include "gathered.hpp"
#include "shares.hpp"

namespace canalrule::audit {

/// Operators on a funnel by all criteria together.
Funnel funnel_of(const Gathered& gathered, const Selection& selection, const SummaryOptions& options);

}  // namespace canalrule::audit
