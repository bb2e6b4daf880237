#pragma once

#include <filesystem>

#include "findings.hpp"
#include "parts.hpp"

namespace canalrule_benchmark {

/// Writes accuracy.md and the folder accuracy/ with its charts and pictures into the folder. `remains` is a
/// file of Markdown that stands at its end.
void write_document(const std::vector<Part>& parts, const AllRows& rows, const std::filesystem::path& folder,
                    const std::filesystem::path& remains);

}  // namespace canalrule_benchmark
