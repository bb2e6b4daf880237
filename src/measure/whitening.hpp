#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "texture.hpp"

namespace canalrule {

/// Rows of bins made independent and of variance 1: each less what some before it promise of it, by the covariance
/// (Vecchia, J R Stat Soc B 1988;50:297). The farther of them tell of a long, shallow void: the nearest alone show its
/// ends only.
class Whitening {
 public:
  /// The row itself and those before it. Chosen here; tests/truth/voids.cpp.
  static constexpr std::array<std::size_t, 6> lags{0, 1, 2, 4, 8, 16};
  static constexpr std::size_t memory = lags.back();

  Whitening(const FillBins& bins, const Texture& texture);

  /// What row `row` says: the sum over k of step(row)[k] times the values of row - lags[k].
  using Step = std::array<Square, lags.size()>;
  const Step* step(std::size_t row) const;  ///< null where a row doesn't serve

 private:
  std::vector<Step> steps_;
  std::vector<std::ptrdiff_t> of_row_;
};

}  // namespace canalrule
