#include "surroundings.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalrule {

namespace {

/// Means over this to both sides along the canal: about a blur's reach. And the blurred edge of the fill and of others,
/// in deviations of the blur, that doesn't count as beside it: another's shows in the mean with its full height. Chosen
/// here; tests/truth/width.cpp, taper.cpp and together.cpp.
constexpr double beside_mm = 0.15;
constexpr double edge_deviations = 2.0;
constexpr double other_edge_deviations = 4.0;

/// 255 where another fill lies, or its blurred edge.
cv::Mat covered(const cv::Mat& other, double blur_rows) {
  const int reach = static_cast<int>(std::ceil(other_edge_deviations * blur_rows));
  const cv::Size size(2 * reach + 1, 2 * reach + 1);
  cv::Mat covers;
  cv::dilate(other > 0.0, covers, cv::getStructuringElement(cv::MORPH_ELLIPSE, size));
  return covers;
}

}  // namespace

Surroundings look_beside(const Strip& strip, const cv::Mat& part, const FillModel& fill, int first, int last,
                         double mm_per_px, const cv::Mat& other) {
  const StripGrid& grid = strip.grid;
  const cv::Mat others = other.empty() ? cv::Mat() : covered(other, fill.blur_px / grid.step_px);
  const auto rows = static_cast<std::size_t>(last - first);
  std::vector<double> sum(rows + 1, 0.0), count(rows + 1, 0.0);  // up to each row
  for (std::size_t k = 0; k < rows; ++k) {
    const int i = first + static_cast<int>(k);
    const double s = grid.s_px(i);
    const double clear = s > fill.end_px ? fill.radius_px(s) + edge_deviations * fill.blur_px : 0.0;
    const double c = fill.centre_px(s);
    sum[k + 1] = sum[k];
    count[k + 1] = count[k];
    for (int j = 0; j < grid.columns; ++j) {
      if (part.at<double>(i, j) <= 0.0 || std::fabs(grid.n_px(j) - c) < clear) continue;
      if (!others.empty() && others.at<std::uint8_t>(i, j) != 0) continue;
      sum[k + 1] += static_cast<double>(strip.value.at<float>(i, j));
      count[k + 1] += 1.0;
    }
  }
  Surroundings beside{grid.s_px(first), grid.step_px, std::vector<double>(rows, 0.0)};
  const auto half = static_cast<std::size_t>(std::lround(beside_mm / (mm_per_px * grid.step_px)));
  double mean = 0.0;
  double along = 0.0;
  for (std::size_t k = 0; k < rows; ++k) {
    const std::size_t reach = std::min({half, k, rows - 1 - k});
    const double n = count[k + reach + 1] - count[k - reach];
    beside.level[k] = n > 0.0 ? (sum[k + reach + 1] - sum[k - reach]) / n : (k > 0 ? beside.level[k - 1] : 0.0);
    if (grid.s_px(first + static_cast<double>(k)) < fill.end_px) continue;
    mean += beside.level[k];
    along += 1.0;
  }
  for (double& level : beside.level) level -= along > 0.0 ? mean / along : 0.0;
  return beside;
}

}  // namespace canalrule
