#include "void_patterns.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

cv::Mat draw_pattern(const Pattern& pattern, const FillFit& fit, const StripGrid& grid) {
  cv::Mat map = fit.maps.per_thickness.mul(fit.maps.blurred);
  if (pattern.kind == VoidKind::across) return map;
  const FillModel& model = fit.model;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double s = grid.s_px(i);
    const double r = std::max(1.0, model.radius_px(s));
    const double c = model.centre_px(s);
    double* out = map.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    const double* q = fit.maps.blurred.ptr<double>(i);
    // Beside the fill and its blur nothing can be missing.
    int from = 0;
    int to = grid.columns;
    while (from < to && q[from] == 0.0) ++from;
    while (to > from && q[to - 1] == 0.0) --to;
    if (pattern.kind == VoidKind::inside) {
      // The shadow of a round bubble, blurred, is near a Gaussian of the same area and variance.
      const int middle = std::clamp(static_cast<int>(std::lround(grid.column_of(c))), 0, grid.columns - 1);
      const double rho = pattern.width * r;
      const double sd = std::sqrt(0.25 * rho * rho + model.blur_px * model.blur_px);
      const double peak = q[middle] * std::min(1.0, 1.5708 * rho / (2.5066 * sd));
      for (int j = from; j < to; ++j) {
        const double n = (grid.n_px(j) - c) / sd;
        out[j] = slope[j] * peak * std::exp(-0.5 * n * n);
      }
    } else {
      const double turned = pattern.place > 0.0 ? 1.0 : -1.0;
      const double soft = std::max(0.15 * r, 0.6 * model.blur_px);
      const double edge = (std::fabs(pattern.place) - pattern.width) * r;
      // A logistic over even columns: its exponential changes by one factor from each to the next.
      double left = std::exp(-(turned * (grid.n_px(from) - c) - edge) / soft);
      const double next = std::exp(-turned * grid.step_px / soft);
      for (int j = from; j < to; ++j, left *= next) out[j] *= 1.0 / (1.0 + left);
    }
  }
  return map;
}

cv::Mat missing_radiopacity(const FillFit& fit, const StripGrid& grid) {
  cv::Mat missing(fit.residual.size(), CV_64FC1, cv::Scalar(0));
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const FilmCurve curve = curve_at(fit.model, grid.s_px(i));
    const double* r = fit.residual.ptr<double>(i);
    const double* q = fit.maps.blurred.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    double* out = missing.ptr<double>(i);
    for (int j = 0; j < missing.cols; ++j)
      out[j] = -slope[j] * curve.thickness_change(std::exp(-curve.absorption * q[j]), slope[j], r[j]);
  }
  return missing;
}

}  // namespace canalrule
