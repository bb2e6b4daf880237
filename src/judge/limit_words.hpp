#pragma once

#include <string>

#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// What a criterion's numbers ask, for a person: "0 to 2 mm", "≤ 0.05 mm", "none of score ≥ 5, ≥ 0.3 mm; 1
/// found doesn't count". The criterion's own text may say it otherwise, or not at all.
std::string limit_words(const Criterion& criterion, const CanalResult& canal, const std::string& unit);

/// Which voids a criterion counts, in words.
std::string selection_words(const VoidSelection& selection);

}  // namespace canalrule
