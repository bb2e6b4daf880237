#pragma once

#include <string>

#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// What a criterion's numbers ask, for a person: "0 to 2 mm", "at most 0.05 mm", "at most 0, of a score of at least
/// 5.0, 0.30 mm or longer; 1 found is under that". The criterion's own text may say it otherwise, or not at all.
std::string limit_words(const Criterion& criterion, const CanalResult& canal, const std::string& unit);

/// Which voids a person would count, by their values alone, and in words.
bool counts(const Void& found, const VoidSelection& selection);
std::string selection_words(const VoidSelection& selection);

}  // namespace canalrule
