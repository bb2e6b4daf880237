#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "whitening.hpp"

namespace canalrule {

/// Bone's strands and what the model can't follow make deceptive patterns oftener than normal noise of their variance
/// would: a deviation counts for less. Chosen here on simulated films, seeds 201 to 320; tests/truth/voids.cpp.
inline constexpr double heavier_tails = 1.25;

/// How a pattern shows along the fill: of a void whose depth is h[i] in row i the log likelihood rises by
///   sum of h[i] pull[i]  -  1/2 sum over i, k of h[i] h[k] hold(i, k).
struct VoidSeries {
  using Hold = std::array<double, Whitening::memory + 1>;
  std::vector<double> pull;
  std::vector<Hold> hold;  ///< hold[i][l]: of rows i and i + l
  /// The same of every row by itself, its level and slope taken out, all bins alike: where a void stands out far above
  /// the texture, what is missing tells its kind, not what is likely.
  std::vector<double> plain_pull, plain_hold;
};

/// The series of all patterns, and what is missing of the fill, whitened.
class VoidEvidence {
 public:
  VoidEvidence(const FillBins& bins, const Texture& texture);
  const VoidSeries& of(std::size_t pattern) const { return series_[pattern]; }
  bool serves(std::size_t row) const { return whitening_.step(row) != nullptr; }

  /// Times by which the whitened values of rows [first, last) vary more than they are taken to, 1 or more.
  double unruly(std::size_t first, std::size_t last) const;

  /// Takes out a void of a pattern: `depth` in rows from `first` on.
  void take_out(std::size_t pattern, std::size_t first, const std::vector<double>& depth);

 private:
  void weigh_rows();  ///< by how whitened values vary near each
  void pull();

  FillBins bins_;
  Whitening whitening_;
  std::array<VoidSeries, patterns.size()> series_;
  std::vector<double> squares_, clipped_, counts_;  ///< of each row's whitened values
  std::vector<double> weight_;  ///< one over the variance that a row's whitened values are taken to have
};

}  // namespace canalrule
