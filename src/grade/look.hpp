#pragma once

#include <canalrule/judge/judge.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/record/rubric.hpp>
#include <optional>
#include <vector>

namespace canalrule {

/// What a canal shows of a figure against an upper edge: `probability` of lying below it. A film's figure is
/// taken as exact.
Shown look_below(const CanalResult& canal, const Looked& looked, const Limit& upper);

/// The same for each band of a criterion.
struct BandsSeen {
  std::optional<Quantity> figure;
  std::vector<double> chance;  ///< of each band; empty where the figure isn't there
  std::string reason;
  Shown::Seen seen = Shown::Seen::whole;
};
BandsSeen look_at_bands(const CanalResult& canal, const RubricCriterion& criterion);

}  // namespace canalrule
