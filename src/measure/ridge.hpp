#pragma once

#include <canalrule/geometry/strip.hpp>
#include <vector>

namespace canalrule {

/// A hand's offset from the canal's centre, standard deviation, mm. Chosen here; tests/truth/terminus.cpp.
inline constexpr double hand_mm = 0.15;

/// Sums of a row's values before each column, times the column's 0th, 1st and 2nd power, and the number of
/// columns that can't serve.
struct Moments {
  std::vector<double> zeroth, first, second;
  std::vector<int> unusable;
};

/// A strip's rows averaged over steps of a tenth of a millimetre; one value a column.
struct Blocks {
  double block_px = 1.0;
  std::vector<double> s_px;
  std::vector<std::vector<double>> value;
  std::vector<std::vector<char>> usable;
  std::vector<std::vector<char>> foreign;  ///< something else lies there
  std::vector<Moments> moments;
};

/// `mask` (CV_8UC1 of the strip's size): 0 where another fill or object lies.
Blocks average_blocks(const Strip& strip, const cv::Mat& mask, double mm_per_px);

/// Each of a strip's rows as a block of its own.
Blocks rows_as_blocks(const Strip& strip);

/// A chord profile of unit height less its best parabola over the window: blind to a background that is
/// even, slopes across the canal, or is vaulted as a root is.
struct Template {
  double radius = 1.0;  ///< in columns
  std::vector<double> weight;
  std::vector<double> chord;         ///< of the profile alone, within its radius
  double level = 0.0, vault = 0.0;   ///< the parabola that is taken off: level + vault k^2
  double norm = 1.0;                 ///< sum of squares

  /// `r` and `flank` in columns.
  Template(double r, double flank);

  int half() const { return static_cast<int>(weight.size() / 2); }

  /// Amplitude of the profile at a column. A pixel that can't serve is taken from the other side of the
  /// profile, which is even; NaN where that can't serve either, or the window leaves the strip.
  double amplitude(const Blocks& blocks, std::size_t block, int column) const;
};

/// The most probable ridge through the blocks, one entry a block.
struct Ridge {
  std::vector<double> offset;  ///< columns from the middle column
  std::vector<double> radius;  ///< columns
  std::vector<double> height;  ///< amplitude there
  std::vector<double> sure;    ///< root of the variation it explains, in units of the strip's own
};

/// By dynamic programming (Viterbi) over offset and radius: evidence against roughness. `middle`: the
/// column of the strip's axis; `hand_weight`: of the drawn line against what the film shows; `widest`: the radius up
/// to which each block may show a ridge, columns; empty: any.
Ridge find_ridge(const Blocks& blocks, const std::vector<Template>& templates, int middle,
                 double columns_per_mm, double hand_weight, const std::vector<double>& widest = {});

}  // namespace canalrule
