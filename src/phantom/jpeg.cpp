#include "jpeg.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace canalrule::phantom {

namespace {

constexpr int side = 8;
using Block = std::array<std::array<double, side>, side>;

// ITU-T T.81 (1992), table K.1.
constexpr std::array<std::array<int, side>, side> luminance{{{16, 11, 10, 16, 24, 40, 51, 61},
                                                             {12, 12, 14, 19, 26, 58, 60, 55},
                                                             {14, 13, 16, 24, 40, 57, 69, 56},
                                                             {14, 17, 22, 29, 51, 87, 80, 62},
                                                             {18, 22, 37, 56, 68, 109, 103, 77},
                                                             {24, 35, 55, 64, 81, 104, 113, 92},
                                                             {49, 64, 78, 87, 103, 121, 120, 101},
                                                             {72, 92, 95, 98, 112, 100, 103, 99}}};

/// The orthonormal discrete cosine transform: row u holds the u-th wave.
Block waves() {
  Block w{};
  for (std::size_t u = 0; u < side; ++u)
    for (std::size_t x = 0; x < side; ++x)
      w[u][x] =
          (u == 0 ? std::sqrt(0.125) : 0.5) *
          std::cos((2.0 * static_cast<double>(x) + 1.0) * static_cast<double>(u) * std::numbers::pi / 16.0);
  return w;
}

/// left * block * right, or with both transposed.
enum class Direction { forward, back };
Block transform(const Block& block, const Block& wave, Direction direction) {
  Block half{}, whole{};
  const auto w = [&](std::size_t a, std::size_t b) {
    return direction == Direction::forward ? wave[a][b] : wave[b][a];
  };
  for (std::size_t y = 0; y < side; ++y)
    for (std::size_t u = 0; u < side; ++u)
      for (std::size_t x = 0; x < side; ++x) half[y][u] += block[y][x] * w(u, x);
  for (std::size_t v = 0; v < side; ++v)
    for (std::size_t y = 0; y < side; ++y)
      for (std::size_t u = 0; u < side; ++u) whole[v][u] += w(v, y) * half[y][u];
  return whole;
}

}  // namespace

void compress(cv::Mat& grey, double coarseness, int bits) {
  const Block wave = waves();
  const double scale = coarseness * static_cast<double>(1 << (bits - 8));
  const double middle = static_cast<double>(1 << (bits - 1)), top = 2.0 * middle - 1.0;
  for (int r0 = 0; r0 < grey.rows; r0 += side)
    for (int c0 = 0; c0 < grey.cols; c0 += side) {
      Block block{};
      for (int y = 0; y < side; ++y)
        for (int x = 0; x < side; ++x)
          block[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)] =
              static_cast<double>(
                  grey.at<std::uint16_t>(std::min(r0 + y, grey.rows - 1), std::min(c0 + x, grey.cols - 1))) -
              middle;
      Block waved = transform(block, wave, Direction::forward);
      for (std::size_t v = 0; v < side; ++v)
        for (std::size_t u = 0; u < side; ++u) {
          const double step = std::max(1.0, std::floor(scale * luminance[v][u] + 0.5));
          waved[v][u] = step * std::floor(waved[v][u] / step + 0.5);
        }
      block = transform(waved, wave, Direction::back);
      for (int y = 0; y < side && r0 + y < grey.rows; ++y)
        for (int x = 0; x < side && c0 + x < grey.cols; ++x)
          grey.at<std::uint16_t>(r0 + y, c0 + x) = static_cast<std::uint16_t>(std::floor(
              std::clamp(block[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)] + middle, 0.0, top) +
              0.5));
    }
}

}  // namespace canalrule::phantom
