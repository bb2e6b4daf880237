#pragma once

#include <canalrule/audit/summary.hpp>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace canalrule::command {

/// "clinic, date"
std::string in_a_row(const std::vector<std::string>& columns);

/// Refuses (wrong_use) a column to group by that isn't among those kept.
void check_columns(const std::vector<std::string>& kept, const SummaryOptions& options);

/// Writes what comes out of a finished audit into its folder: the two tables, the summary and the page,
/// compared with an earlier audit where one is given. The same for one run and for joined parts. Returns how
/// many cases failed.
std::size_t write_audit_results(const std::filesystem::path& folder, const SummaryOptions& options,
                                const std::optional<std::filesystem::path>& against);

}  // namespace canalrule::command
