#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// What one canal shows for one criterion, before the decision.
struct Finding {
  std::optional<double> probability;  ///< of conforming, over what could be seen; empty: not assessable
  std::optional<Quantity> figure;
  std::string reason;                 ///< why not assessable, or what decided
  std::vector<std::string_view> seen_over;  ///< figures whose unassessable stretches keep it from being whole
};

/// Voids by the criterion's selection.
Finding find_voids(const CanalResult& canal, const Criterion& criterion);

/// Everything but voids.
Finding find_figure(const CanalResult& canal, const Criterion& criterion);

/// The words of why_missing; `otherwise` where it has none.
std::string words_for_missing(const CanalResult& canal, CriterionFigure figure, const std::string& otherwise);

}  // namespace canalrule
