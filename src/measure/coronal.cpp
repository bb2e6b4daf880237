#include "coronal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "robust.hpp"

namespace canalrule {

namespace {

// Lengths in mm, chosen here; tests/truth/together.cpp holds them.
constexpr double flank_from_mm = 0.1;
constexpr double flank_to_mm = 0.45;
constexpr double before_mm = 1.5;   ///< of fill, that a place is compared with
constexpr double stays_mm = 0.7;    ///< a stretch without fill longer than this is no gap in it
constexpr double least_share = 0.4;

/// Height of what lies within a model's radius over the darker of its two flanks; not a number where a side
/// is missing.
double height_over_darker(const Strip& strip, const FillModel& model, int i, double mm) {
  const StripGrid& grid = strip.grid;
  const double r = model.radius_px(grid.s_px(i));
  const double c = model.centre_px(grid.s_px(i));
  double in = 0.0;
  int ins = 0;
  std::array<double, 2> out{};
  std::array<int, 2> outs{};
  for (int j = 0; j < grid.columns; ++j) {
    if (strip.usable.at<std::uint8_t>(i, j) == 0) continue;
    const double n = grid.n_px(j) - c;
    const double beside = std::fabs(n) - r;
    const auto value = static_cast<double>(strip.value.at<float>(i, j));
    if (std::fabs(n) < 0.7 * r) {
      in += value;
      ++ins;
    } else if (beside > flank_from_mm / mm && beside < flank_to_mm / mm) {
      const std::size_t side = n > 0.0 ? 1 : 0;
      out[side] += value;
      ++outs[side];
    }
  }
  if (ins == 0 || outs[0] == 0 || outs[1] == 0) return std::nan("");
  return in / ins - std::min(out[0] / outs[0], out[1] / outs[1]);
}

}  // namespace

double last_filled(const Strip& strip, const FillModel& model, double from_px, double mm) {
  const StripGrid& grid = strip.grid;
  const double step_mm = grid.step_px * mm;
  const auto stays = static_cast<std::size_t>(std::max(3.0, stays_mm / step_mm));
  const auto before = static_cast<std::size_t>(std::max(6.0, before_mm / step_mm));
  std::vector<double> height;
  const int first = std::clamp(static_cast<int>(grid.row_of(from_px)), 0, grid.rows - 1);
  for (int i = first; i < grid.rows; ++i) {
    const double h = height_over_darker(strip, model, i, mm);
    height.push_back(std::isnan(h) ? (height.empty() ? 0.0 : height.back()) : h);
  }
  for (std::size_t k = before; k + stays < height.size(); ++k) {
    const double level = median({height.begin() + static_cast<std::ptrdiff_t>(k - before),
                                 height.begin() + static_cast<std::ptrdiff_t>(k)});
    const double next = median({height.begin() + static_cast<std::ptrdiff_t>(k),
                                height.begin() + static_cast<std::ptrdiff_t>(k + stays)});
    if (height[k] < least_share * level && next < least_share * level)
      return grid.s_px(first + static_cast<double>(k));
  }
  return grid.s_px(grid.rows - 1);
}

double coronal_end(const Strip& strip, const FillModel& model, double traced_px, double mm) {
  const StripGrid& grid = strip.grid;
  const double r = model.radius_px(traced_px - 0.4 / mm);
  const double c = model.centre_px(traced_px - 0.4 / mm);
  const auto height = [&](int i) {
    double in = 0.0, out = 0.0;
    int ins = 0, outs = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (strip.usable.at<std::uint8_t>(i, j) == 0) continue;
      const double n = std::fabs(grid.n_px(j) - c);
      if (n < 0.6 * r) {
        in += static_cast<double>(strip.value.at<float>(i, j));
        ++ins;
      } else if (n > r + 2.5 * model.blur_px && n < r + 0.5 / mm) {
        out += static_cast<double>(strip.value.at<float>(i, j));
        ++outs;
      }
    }
    return ins > 0 && outs > 0 ? in / ins - out / outs : std::nan("");
  };
  const int from = std::clamp(static_cast<int>(grid.row_of(traced_px - 1.0 / mm)), 0, grid.rows - 1);
  const int near = std::clamp(static_cast<int>(grid.row_of(traced_px - 0.3 / mm)), 0, grid.rows - 1);
  const int last = std::clamp(static_cast<int>(grid.row_of(traced_px + 0.4 / mm)), 0, grid.rows - 1);
  std::vector<double> heights;
  for (int i = from; i <= near; ++i)
    if (const double h = height(i); !std::isnan(h)) heights.push_back(h);
  if (heights.size() < 5) return traced_px;
  // A gap just apical of it is no measure of the fill.
  const double half_of_highest = 0.5 * *std::max_element(heights.begin(), heights.end());
  std::erase_if(heights, [half_of_highest](double h) { return h < half_of_highest; });
  const double level = std::accumulate(heights.begin(), heights.end(), 0.0) / static_cast<double>(heights.size());
  double before = level;
  for (int i = near; i <= last; ++i) {
    const double h = height(i);
    if (std::isnan(h)) return traced_px;
    if (h < 0.5 * level) {
      const double f = (before - 0.5 * level) / std::max(1e-12, before - h);
      return grid.s_px(i - 1 + std::clamp(f, 0.0, 1.0));
    }
    before = h;
  }
  return traced_px;
}

}  // namespace canalrule
