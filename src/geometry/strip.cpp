#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <canalrule/geometry/strip.hpp>
#include <cmath>

namespace canalrule {

namespace {

/// Keys' cubic convolution weights for a place `f` in [0, 1) between the second and third of four samples.
std::array<double, 4> cubic_weights(double f) {
  const double f2 = f * f;
  const double f3 = f2 * f;
  return {-0.5 * f3 + f2 - 0.5 * f, 1.5 * f3 - 2.5 * f2 + 1.0, -1.5 * f3 + 2.0 * f2 + 0.5 * f,
          0.5 * f3 - 0.5 * f2};
}

}  // namespace

Strip sample_strip(const cv::Mat& plane, const cv::Mat& unusable, const CanalPath& path,
                   const StripGrid& grid) {
  ensure(plane.type() == CV_32FC1, "a strip is sampled from a float plane");
  Strip strip;
  strip.grid = grid;
  strip.value = cv::Mat(grid.rows, grid.columns, CV_32FC1, cv::Scalar(0));
  strip.usable = cv::Mat(grid.rows, grid.columns, CV_8UC1, cv::Scalar(0));
  for (int i = 0; i < grid.rows; ++i) {
    const double s = grid.s_px(i);
    const Point centre = path.at(s);
    const Point along = path.direction(s);
    float* value = strip.value.ptr<float>(i);
    std::uint8_t* usable = strip.usable.ptr<std::uint8_t>(i);
    for (int j = 0; j < grid.columns; ++j) {
      const double n = grid.n_px(j);
      // Half a pixel: samples sit at pixel centres, image coordinates start at the outer corner.
      const double x = centre.x - along.y * n - 0.5;
      const double y = centre.y + along.x * n / path.aspect() - 0.5;
      const double fx = std::floor(x);
      const double fy = std::floor(y);
      if (!(fx >= 1.0 && fy >= 1.0 && fx + 2.0 < plane.cols && fy + 2.0 < plane.rows)) continue;
      const auto column = static_cast<int>(fx);
      const auto row = static_cast<int>(fy);
      const std::array<double, 4> wx = cubic_weights(x - fx);
      const std::array<double, 4> wy = cubic_weights(y - fy);
      double sum = 0.0;
      for (int k = 0; k < 4; ++k) {
        const float* line = plane.ptr<float>(row - 1 + k) + column - 1;
        const double across = wx[0] * static_cast<double>(line[0]) + wx[1] * static_cast<double>(line[1]) +
                              wx[2] * static_cast<double>(line[2]) + wx[3] * static_cast<double>(line[3]);
        sum += wy[static_cast<std::size_t>(k)] * across;
      }
      value[j] = static_cast<float>(sum);
      if (!unusable.empty()) {
        bool bad = false;
        for (int k = 0; k < 4; ++k) {
          const std::uint8_t* line = unusable.ptr<std::uint8_t>(row - 1 + k) + column - 1;
          bad = bad || line[0] != 0 || line[1] != 0 || line[2] != 0 || line[3] != 0;
        }
        if (bad) continue;
      }
      usable[j] = 255;
    }
  }
  return strip;
}

}  // namespace canalrule
