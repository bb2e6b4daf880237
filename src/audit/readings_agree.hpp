#pragma once

#include <canalrule/audit/agreement.hpp>

#include "gathered.hpp"

namespace canalrule::audit {

/// How well readings of the same canals agree.
Agreement agreement_of(const Gathered& gathered, const AuditHead& head, double level);

}  // namespace canalrule::audit
