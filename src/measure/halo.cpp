#include "halo.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

Undershoot find_undershoot(const FillFit& fit, const StripGrid& grid, double coronal_px,
                           double independent_px) {
  const FillModel& model = fit.model;
  double sum = 0.0, squares = 0.0;
  int count = 0;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double s = grid.s_px(i);
    if (s < model.end_px + 3.0 * model.blur_px || s > coronal_px) continue;
    const double r = model.radius_px(s);
    const double c = model.centre_px(s);
    double near = 0.0, far = 0.0;
    int nears = 0, fars = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (fit.weight.at<double>(i, j) <= 0.0) continue;
      const double away = (std::fabs(grid.n_px(j) - c) - r) / model.blur_px;
      if (away > 1.5 && away < 4.0) {
        near += fit.residual.at<double>(i, j);
        ++nears;
      } else if (away > 6.0) {
        far += fit.residual.at<double>(i, j);
        ++fars;
      }
    }
    if (nears < 3 || fars < 3) continue;
    const double share = (far / fars - near / nears) / (model.contrast * 2.0 * r);
    sum += share;
    squares += share * share;
    ++count;
  }
  if (count < 20) return {};
  const double mean = sum / count;
  const double deviation = std::sqrt(std::max(1e-12, squares / count - mean * mean));
  const double independent = std::max(2.0, count * grid.step_px / independent_px);
  return {mean, mean / (deviation / std::sqrt(independent))};
}

double halo_of(const FillFit& fit, const StripGrid& grid, double coronal_px) {
  const int row =
      std::clamp(static_cast<int>(grid.row_of(0.5 * (fit.model.end_px + coronal_px))), 0, grid.rows - 1);
  double low = 0.0;
  double high = 0.0;
  cv::minMaxLoc(fit.maps.value.row(row), &low, &high);
  return high > 0.0 ? std::max(0.0, -low) / high : 0.0;
}

double halo_along(const FillModel& model, double s) {
  if (model.halo == 0.0) return 0.0;
  const double r = model.radius_px(s);
  const auto mean_thickness = [&](double deviation) {
    constexpr int parts = 40;
    double sum = 0.0, weights = 0.0;
    for (int k = 0; k < parts; ++k) {
      const double n = 4.0 * deviation * (k + 0.5) / parts;
      const double w = std::exp(-0.5 * n * n / (deviation * deviation));
      sum += w * std::sqrt(std::max(0.0, r * r - n * n));
      weights += w;
    }
    return sum / weights;
  };
  const double taken = model.halo * mean_thickness(model.halo_px);
  return taken / ((1.0 + model.halo) * mean_thickness(model.blur_px) - taken);
}

}  // namespace canalrule
