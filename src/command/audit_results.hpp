#pragma once

#include <canalrule/audit/summary.hpp>
#include <cstddef>
#include <filesystem>
#include <optional>

namespace canalrule::command {

/// Writes what comes out of a finished audit into its folder: the two tables, the summary and the page,
/// compared with an earlier audit where one is given. The same for one run and for joined parts. Returns how
/// many cases failed.
std::size_t write_audit_results(const std::filesystem::path& folder, const SummaryOptions& options,
                                const std::optional<std::filesystem::path>& against);

}  // namespace canalrule::command
