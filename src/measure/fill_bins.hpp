#pragma once

#include <array>
#include <canalrule/geometry/strip.hpp>
#include <vector>

#include "fill_fit.hpp"
#include "void_patterns.hpp"

namespace canalrule {

/// Bins across a fill and what lies beside it: three on either side, five over its width and blur.
inline constexpr std::size_t bins_across = 11;
using Across = std::array<double, bins_across>;

/// A short piece of the fill in bins, lengths and thicknesses in mm. What is missing is film less model with the film's
/// curve undone, in thickness of fill, but for what of the background changes slowly along the canal.
struct BinRow {
  double s_px = 0.0;
  double outside = 0.0;                        ///< share of it that lies outside the root
  double centre = 0.0;                         ///< of the fill, from the strip's axis
  std::array<bool, bins_across> serves{};
  Across place{}, width{};                     ///< from the fill's centre
  Across missing{};
  Across noise{};                              ///< variance of independent noise over that of a pixel beside the fill
  Across by_radius{}, by_centre{};             ///< thickness by mm
  std::array<Across, patterns.size()> taken{}; ///< by a void that takes all, of each pattern

  bool useful() const;
};

/// Weights of a Gaussian by the distance in rows, out to three deviations.
std::vector<double> half_gaussian(double deviation_rows);

struct FillBins {
  double row_mm = 0.05;
  std::vector<BinRow> rows;
};

/// Rows [first, last), two of the strip's together. Rows in `out` don't serve.
FillBins bin_fill(const Strip& strip, const FillFit& fit, int first, int last, double mm_per_px,
                  const Stretches& out);

}  // namespace canalrule
