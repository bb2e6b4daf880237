#pragma once

#include <vector>

#include <canalrule/audit/row.hpp>

namespace canalrule::audit {

/// Canals with their verdicts by these criteria.
std::vector<CanalRow> judged_rows(std::vector<CanalResult> canals, const Criteria& criteria);

}  // namespace canalrule::audit
