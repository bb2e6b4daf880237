#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <canalrule/geometry/strip.hpp>
#include <cmath>

namespace canalrule {

namespace {

/// Keys' cubic convolution weights for a place `f` in [0, 1) between the second and third of four samples.
std::array<float, 4> cubic_weights(double f) {
  const double f2 = f * f;
  const double f3 = f2 * f;
  return {static_cast<float>(-0.5 * f3 + f2 - 0.5 * f), static_cast<float>(1.5 * f3 - 2.5 * f2 + 1.0),
          static_cast<float>(-1.5 * f3 + 2.0 * f2 + 0.5 * f), static_cast<float>(0.5 * f3 - 0.5 * f2)};
}

}  // namespace

Strip sample_strip(const cv::Mat& plane, const cv::Mat& unusable, const CanalPath& path,
                   const StripGrid& grid, cv::Point origin) {
  ensure(plane.type() == CV_32FC1, "a strip is sampled from a float plane");
  Strip strip;
  strip.grid = grid;
  strip.value = cv::Mat(grid.rows, grid.columns, CV_32FC1, cv::Scalar(0));
  strip.usable = cv::Mat(grid.rows, grid.columns, CV_8UC1, cv::Scalar(0));
  const bool some_unusable = !unusable.empty() && cv::countNonZero(unusable) > 0;
  for (int i = 0; i < grid.rows; ++i) {
    const double s = grid.s_px(i);
    const Point centre = path.at(s);
    const Point along = path.direction(s);
    float* value = strip.value.ptr<float>(i);
    std::uint8_t* usable = strip.usable.ptr<std::uint8_t>(i);
    for (int j = 0; j < grid.columns; ++j) {
      const double n = grid.n_px(j);
      // Half a pixel: samples sit at pixel centres, image coordinates start at the outer corner.
      const double x = centre.x - along.y * n - 0.5 - origin.x;
      const double y = centre.y + along.x * n / path.aspect() - 0.5 - origin.y;
      if (!(x >= 1.0 && y >= 1.0 && x < plane.cols - 2.0 && y < plane.rows - 2.0)) continue;
      const auto column = static_cast<int>(x);
      const auto row = static_cast<int>(y);
      const std::array<float, 4> wx = cubic_weights(x - column);
      const std::array<float, 4> wy = cubic_weights(y - row);
      std::array<float, 4> down{};
      for (std::size_t k = 0; k < 4; ++k) {
        const float* line = plane.ptr<float>(row - 1 + static_cast<int>(k)) + column - 1;
        for (std::size_t c = 0; c < 4; ++c) down[c] += wy[k] * line[c];
      }
      value[j] = (wx[0] * down[0] + wx[1] * down[1]) + (wx[2] * down[2] + wx[3] * down[3]);
      if (some_unusable) {
        bool bad = false;
        for (int k = 0; k < 4; ++k) {
          const std::uint8_t* line =
              unusable.ptr<std::uint8_t>(origin.y + row - 1 + k) + origin.x + column - 1;
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
