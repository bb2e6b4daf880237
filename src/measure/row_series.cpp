#include "row_series.hpp"

#include <algorithm>
#include <cmath>

#include "dot.hpp"
#include "robust.hpp"

namespace canalrule {

RowSeries row_series(const StripGrid& grid, const cv::Mat& residual, const cv::Mat& pattern,
                     const cv::Mat& part, int first, int last, double lag_px) {
  RowSeries series;
  for (int i = first; i < last; ++i) {
    const double* r = residual.ptr<double>(i);
    const double* t = pattern.ptr<double>(i);
    const double* w = part.ptr<double>(i);
    double s0 = 0, s1 = 0, s2 = 0, t0 = 0, t1 = 0, r0 = 0, r1 = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (w[j] <= 0.0) continue;
      const double x = j - 0.5 * grid.columns;
      s0 += 1.0;
      s1 += x;
      s2 += x * x;
      t0 += t[j];
      t1 += t[j] * x;
      r0 += r[j];
      r1 += r[j] * x;
    }
    series.s_px.push_back(grid.s_px(i));
    const double det = s0 * s2 - s1 * s1;
    if (s0 < 8.0 || det <= 0.0) {
      series.response.push_back(0.0);
      series.strength.push_back(0.0);
      continue;
    }
    const double ta = (s2 * t0 - s1 * t1) / det, tb = (s0 * t1 - s1 * t0) / det;
    const double ra = (s2 * r0 - s1 * r1) / det, rb = (s0 * r1 - s1 * r0) / det;
    double tt = 0.0, rt = 0.0;
    for (int j = 0; j < grid.columns; ++j) {
      if (w[j] <= 0.0) continue;
      const double x = j - 0.5 * grid.columns;
      const double flat = t[j] - ta - tb * x;
      tt += flat * flat;
      rt += flat * (r[j] - ra - rb * x);
    }
    const double strength = std::sqrt(tt);
    series.strength.push_back(strength > 1e-12 ? strength : 0.0);
    series.response.push_back(strength > 1e-12 ? rt / strength : 0.0);
  }
  // Noise and its correlation along the canal, from responses clipped at three deviations so that a
  // void or a step doesn't count as noise; slow drifts are left to the caller's baseline.
  std::vector<double> size;
  for (std::size_t i = 0; i < series.response.size(); ++i)
    if (series.strength[i] > 0.0) size.push_back(std::fabs(series.response[i]));
  series.noise = 1.4826 * median(size);
  const auto lags = static_cast<std::size_t>(std::max(1.0, lag_px / grid.step_px));
  series.autocorrelation.assign(lags + 1, 0.0);
  series.autocorrelation[0] = 1.0;
  if (series.noise <= 0.0) return series;
  const auto clipped = [&](std::size_t i) {
    return std::clamp(series.response[i], -3.0 * series.noise, 3.0 * series.noise);
  };
  double zero = 0.0;
  double count = 0.0;
  for (std::size_t i = 0; i < series.response.size(); ++i) {
    if (series.strength[i] <= 0.0) continue;
    zero += clipped(i) * clipped(i);
    count += 1.0;
  }
  series.noise = std::sqrt(zero / std::max(1.0, count));
  for (std::size_t lag = 1; lag <= lags; ++lag) {
    double sum = 0.0;
    for (std::size_t i = 0; i + lag < series.response.size(); ++i)
      if (series.strength[i] > 0.0 && series.strength[i + lag] > 0.0) sum += clipped(i) * clipped(i + lag);
    const double taper =
        0.5 * (1.0 + std::cos(3.14159265358979 * static_cast<double>(lag) / static_cast<double>(lags + 1)));
    series.autocorrelation[lag] = zero > 0.0 ? taper * sum / zero : 0.0;
  }
  return series;
}

double variance_of_sum(const RowSeries& series, const std::vector<double>& w) {
  double sum = 0.0;
  const double white = dot(w.data(), w.data(), w.size());
  for (std::size_t lag = 1; lag < series.autocorrelation.size() && lag < w.size(); ++lag)
    sum += 2.0 * series.autocorrelation[lag] * dot(w.data(), w.data() + lag, w.size() - lag);
  // A short record can make an estimated autocorrelation indefinite: never below a fifth of white noise.
  return series.noise * series.noise * std::max(white + sum, 0.2 * white);
}

}  // namespace canalrule
