#pragma once

#include <vector>

#include <canalrule/audit/summary.hpp>

#include "gathered.hpp"

namespace canalrule::audit {

struct Grouped {
  std::vector<Grouping> groupings;
  std::vector<ColumnLeftOut> columns_left_out;
};

/// Groups by tooth, operator, reader and the list's columns, where there are two groups or more.
Grouped groupings_of(const Gathered& gathered, const AuditHead& head, const SummaryOptions& options);

}  // namespace canalrule::audit
