#pragma once

#include <canalrule/geometry/strip.hpp>
#include <cmath>
#include <vector>

namespace canalrule {

/// A strip's rows averaged over steps of a tenth of a millimetre; one value a column.
struct Blocks {
  double block_px = 1.0;
  std::vector<double> s_px;
  std::vector<std::vector<double>> value;
  std::vector<std::vector<char>> usable;
  std::vector<std::vector<char>> foreign;  ///< something else lies there
};

/// `mask` (CV_8UC1 of the strip's size): 0 where another fill or object lies.
Blocks average_blocks(const Strip& strip, const cv::Mat& mask, double mm_per_px);

/// A chord profile of unit height less its best parabola over the window: blind to a background that is
/// even, slopes across the canal, or is vaulted as a root is.
struct Template {
  double radius = 1.0;  ///< in columns
  std::vector<double> weight;
  double norm = 1.0;  ///< sum of squares

  Template(double r, double flank) : radius(r) {
    const int half = static_cast<int>(std::ceil(r + flank));
    for (int k = -half; k <= half; ++k) {
      double sum = 0.0;
      for (int sub = 0; sub < 8; ++sub) {
        const double n = k + (sub + 0.5) / 8.0 - 0.5;
        sum += std::sqrt(std::max(0.0, 1.0 - n * n / (r * r)));
      }
      weight.push_back(sum / 8.0);
    }
    double s0 = 0, s2 = 0, s4 = 0, t0 = 0, t2 = 0;
    for (int k = -half; k <= half; ++k) {
      const double square = static_cast<double>(k) * k;
      const double w = weight[static_cast<std::size_t>(k + half)];
      s0 += 1.0;
      s2 += square;
      s4 += square * square;
      t0 += w;
      t2 += w * square;
    }
    const double det = s0 * s4 - s2 * s2;
    const double level = (s4 * t0 - s2 * t2) / det;
    const double vault = (s0 * t2 - s2 * t0) / det;
    norm = 0.0;
    for (int k = -half; k <= half; ++k) {
      double& w = weight[static_cast<std::size_t>(k + half)];
      w -= level + vault * static_cast<double>(k) * k;
      norm += w * w;
    }
  }

  int half() const { return static_cast<int>(weight.size() / 2); }

  /// Amplitude of the profile at a column. A pixel that can't serve is taken from the other side of the
  /// profile, which is even; NaN where that can't serve either, or the window leaves the strip.
  double amplitude(const std::vector<double>& value, const std::vector<char>& usable, int column) const {
    const int first = column - half();
    if (first < 0 || column + half() >= static_cast<int>(value.size())) return std::nan("");
    double sum = 0.0;
    for (std::size_t k = 0; k < weight.size(); ++k) {
      const auto j = static_cast<std::size_t>(first) + k;
      const std::size_t other = static_cast<std::size_t>(first) + weight.size() - 1 - k;
      const std::size_t from = usable[j] != 0 ? j : other;
      if (usable[from] == 0) return std::nan("");
      sum += weight[k] * value[from];
    }
    return sum / norm;
  }
};

/// The most probable ridge through the blocks, one entry a block.
struct Ridge {
  std::vector<double> offset;  ///< columns from the middle column
  std::vector<double> radius;  ///< columns
  std::vector<double> height;  ///< amplitude there
  std::vector<double> sure;    ///< root of the variation it explains, in units of the strip's own
};

/// By dynamic programming (Viterbi) over offset and radius: evidence against roughness. `middle`: the
/// column of the strip's axis; `hand_weight`: of the drawn line against what the film shows.
Ridge find_ridge(const Blocks& blocks, const std::vector<Template>& templates, int middle,
                 double columns_per_mm, double hand_weight);

}  // namespace canalrule
