#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

#include <canalrule/base/quantity.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule::audit {

/// A figure whose distribution and agreement an audit shows, and the bins of its histogram (chosen here: bins
/// some times as wide as the figure's uncertainty, over what fills show; what lies beyond is counted apart).
struct Figure {
  CriterionFigure figure;
  std::string_view name;   ///< in the record
  std::string_view title;  ///< for a person
  std::string_view unit;
  double first, width;  ///< of the bins
  std::size_t bins;
  std::optional<Quantity> (*of)(const CanalResult&);
};

inline constexpr std::size_t figure_count = 8;
std::span<const Figure, figure_count> figures();

}  // namespace canalrule::audit
