#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include <canalrule/statistics/estimate.hpp>

/// Agreement of verdicts, marks and other categories.
namespace canalrule::statistics {

/// counts[i][j]: how many things the first rater put into category i and the second into j. Square, 2 or more
/// categories, in their order where they have one.
using CategoryTable = std::vector<std::vector<std::size_t>>;

/// The table of pairs of categories, each below `categories`.
CategoryTable category_table(std::span<const std::pair<std::size_t, std::size_t>> pairs,
                             std::size_t categories);

enum class KappaWeights {
  none,      ///< Cohen, Educ Psychol Meas 1960;20:37-46: agreed or not
  linear,    ///< 1 - |i - j| / (k - 1)
  quadratic  ///< 1 - ((i - j) / (k - 1))^2 (Cohen, Psychol Bull 1968;70:213-220)
};

struct Kappa {
  std::size_t pairs = 0;
  std::optional<double> observed_agreement;  ///< weighted, 0 to 1
  std::optional<double> chance_agreement;    ///< weighted, 0 to 1
  /// Interval kappa -/+ z SE, cut to [-1, 1].
  Estimate kappa;
  /// For a kappa that isn't 0 (Fleiss, Cohen, Everitt, Psychol Bull 1969;72:323-327).
  std::optional<double> standard_error;
};
/// No value where nothing was rated, or where chance alone gives full agreement (both raters used one
/// category only). Where all pairs agree, the standard error is 0 and there is no interval.
Kappa cohen_kappa(const CategoryTable& table, KappaWeights weights, double level = usual_level);

}  // namespace canalrule::statistics
