#include <canalrule/base/fault.hpp>
#include <canalrule/geometry/strip.hpp>
#include <opencv2/core/hal/intrin.hpp>

namespace canalrule {

namespace {

using cv::v_float32x4;

/// Keys' cubic convolution weights for a place `f` in [0, 1) between the second and third of four samples.
v_float32x4 cubic_weights(float f) {
  const v_float32x4 at = cv::v_setall_f32(f);
  v_float32x4 weights = cv::v_muladd(v_float32x4(-0.5F, 1.5F, -1.5F, 0.5F), at, v_float32x4(1.0F, -2.5F, 2.0F, -0.5F));
  weights = cv::v_muladd(weights, at, v_float32x4(-0.5F, 0.0F, 0.5F, 0.0F));
  return cv::v_muladd(weights, at, v_float32x4(0.0F, 1.0F, 0.0F, 0.0F));
}

/// The value between the four by four samples from `corner` on, lines `pitch` apart.
float cubic(const float* corner, std::ptrdiff_t pitch, float across, float down) {
  const v_float32x4 weight = cubic_weights(down);
  v_float32x4 sum = cv::v_broadcast_element<0>(weight) * cv::v_load(corner);
  sum = cv::v_muladd(cv::v_broadcast_element<1>(weight), cv::v_load(corner + pitch), sum);
  sum = cv::v_muladd(cv::v_broadcast_element<2>(weight), cv::v_load(corner + 2 * pitch), sum);
  sum = cv::v_muladd(cv::v_broadcast_element<3>(weight), cv::v_load(corner + 3 * pitch), sum);
  return cv::v_reduce_sum(cubic_weights(across) * sum);
}

bool any_set(const std::uint8_t* corner, std::ptrdiff_t pitch) {
  for (std::ptrdiff_t k = 0; k < 4; ++k)
    for (std::ptrdiff_t c = 0; c < 4; ++c)
      if (corner[k * pitch + c] != 0) return true;
  return false;
}

}  // namespace

Strip sample_strip(const cv::Mat& plane, const cv::Mat& unusable, const CanalPath& path,
                   const StripGrid& grid, cv::Point origin) {
  ensure(plane.type() == CV_32FC1, "a strip is sampled from a float plane");
  Strip strip;
  strip.grid = grid;
  strip.value = cv::Mat(grid.rows, grid.columns, CV_32FC1, cv::Scalar(0));
  strip.usable = cv::Mat(grid.rows, grid.columns, CV_8UC1, cv::Scalar(0));
  const auto pitch = static_cast<std::ptrdiff_t>(plane.step1());
  const bool some_unusable =
      !unusable.empty() && cv::countNonZero(unusable(cv::Rect(origin, plane.size()))) > 0;
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
      value[j] = cubic(plane.ptr<float>(row - 1) + column - 1, pitch, static_cast<float>(x - column),
                       static_cast<float>(y - row));
      if (some_unusable && any_set(unusable.ptr<std::uint8_t>(origin.y + row - 1) + origin.x + column - 1,
                                   static_cast<std::ptrdiff_t>(unusable.step1())))
        continue;
      usable[j] = 255;
    }
  }
  return strip;
}

}  // namespace canalrule
