#include "coronal.hpp"

#include <algorithm>
#include <cmath>

#include "robust.hpp"

namespace canalrule {

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
  double level = 0.0;
  int count = 0;
  for (int i = from; i <= near; ++i) {
    const double h = height(i);
    if (std::isnan(h)) continue;
    level += h;
    ++count;
  }
  if (count < 5) return traced_px;
  level /= count;
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
