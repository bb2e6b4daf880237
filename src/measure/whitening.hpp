#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "texture.hpp"

namespace canalrule {

/// Rows of bins made independent and of variance 1: each less what the three before it promise of it, by the
/// covariance (Vecchia, J R Stat Soc B 1988;50:297).
class Whitening {
 public:
  static constexpr std::size_t memory = 3;

  Whitening(const FillBins& bins, const Texture& texture);

  /// What row `row` says: the sum over k of step(row)[k] times the values of row - k.
  using Step = std::array<Square, memory + 1>;
  const Step* step(std::size_t row) const;  ///< null where a row doesn't serve

 private:
  std::vector<Step> steps_;
  std::vector<std::ptrdiff_t> of_row_;
};

}  // namespace canalrule
