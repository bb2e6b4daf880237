#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>

#include "parts.hpp"

/// What came of one film, kept as a line of JSON so that a run can be broken off and taken up again.
namespace canalrule_benchmark {

/// Simulates the film and measures it. Errors are measured minus true, mm, each beside its stated standard
/// uncertainty.
nlohmann::json film_row(const Part& part, std::uint64_t seed, int member);

/// What could be reached on it, by the part's `limits`: bounds, and what the ideal observer sees. Depends on the
/// phantom alone. Empty for a film of several canals.
nlohmann::json limits_row(const Part& part, std::uint64_t seed);

/// Warnings that put the terminus or the outline in doubt, and so count as a flag.
bool is_flag(const std::string& code);

}  // namespace canalrule_benchmark
