#include "row_series.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "dot.hpp"
#include "robust.hpp"

namespace canalrule {

namespace {

/// A row's values less the level and the slope that fit them best.
class Flattened {
 public:
  Flattened(const double* part, int columns) : part_(part), columns_(columns) {
    for (int j = 0; j < columns; ++j) {
      if (part[j] <= 0.0) continue;
      const double x = place(j);
      s0_ += 1.0;
      s1_ += x;
      s2_ += x * x;
    }
    det_ = s0_ * s2_ - s1_ * s1_;
  }
  bool good() const { return s0_ >= 8.0 && det_ > 0.0; }

  void operator()(const double* values, std::vector<double>& flat) const {
    double v0 = 0.0, v1 = 0.0;
    for (int j = 0; j < columns_; ++j) {
      if (part_[j] <= 0.0) continue;
      v0 += values[j];
      v1 += values[j] * place(j);
    }
    const double level = (s2_ * v0 - s1_ * v1) / det_;
    const double slope = (s0_ * v1 - s1_ * v0) / det_;
    for (int j = 0; j < columns_; ++j)
      flat[static_cast<std::size_t>(j)] = part_[j] > 0.0 ? values[j] - level - slope * place(j) : 0.0;
  }

 private:
  double place(int j) const { return j - 0.5 * columns_; }

  const double* part_;
  int columns_;
  double s0_ = 0.0, s1_ = 0.0, s2_ = 0.0, det_ = 0.0;
};

}  // namespace

RowSeries row_series(const StripGrid& grid, const cv::Mat& residual, const cv::Mat& pattern,
                     const cv::Mat& part, int first, int last, double lag_px, const cv::Mat& beside) {
  RowSeries series;
  const auto columns = static_cast<std::size_t>(grid.columns);
  std::vector<double> t(columns), r(columns), g(columns);
  for (int i = first; i < last; ++i) {
    series.s_px.push_back(grid.s_px(i));
    series.response.push_back(0.0);
    series.strength.push_back(0.0);
    const Flattened flattened(part.ptr<double>(i), grid.columns);
    if (!flattened.good()) continue;
    flattened(pattern.ptr<double>(i), t);
    flattened(residual.ptr<double>(i), r);
    if (!beside.empty()) {
      flattened(beside.ptr<double>(i), g);
      const double gg = dot(g.data(), g.data(), columns);
      const double share = gg > 0.0 ? dot(g.data(), t.data(), columns) / gg : 0.0;
      for (std::size_t j = 0; j < columns; ++j) t[j] -= share * g[j];
    }
    const double strength = std::sqrt(dot(t.data(), t.data(), columns));
    if (strength <= 1e-12) continue;
    series.strength.back() = strength;
    series.response.back() = dot(t.data(), r.data(), columns) / strength;
  }
  constexpr double nowhere = std::numeric_limits<double>::quiet_NaN();
  measure_noise(series, grid.step_px, lag_px, nowhere, nowhere);
  return series;
}

void measure_noise(RowSeries& series, double step_px, double lag_px, double from_px, double to_px) {
  // Responses clipped at three deviations, so that a void or a step doesn't count as noise; slow drifts are
  // left to the caller's baseline.
  std::vector<bool> counts(series.response.size());
  std::vector<double> size;
  for (std::size_t i = 0; i < series.response.size(); ++i) {
    counts[i] = series.strength[i] > 0.0 && !(series.s_px[i] >= from_px && series.s_px[i] <= to_px);
    if (counts[i]) size.push_back(std::fabs(series.response[i]));
  }
  const double noise = 1.4826 * median(size);
  const auto lags = static_cast<std::size_t>(std::max(1.0, lag_px / step_px));
  series.noise = noise;
  series.autocorrelation.assign(lags + 1, 0.0);
  series.autocorrelation[0] = 1.0;
  if (noise <= 0.0) return;
  std::vector<double> clipped(series.response.size(), 0.0);
  for (std::size_t i = 0; i < clipped.size(); ++i)
    if (counts[i]) clipped[i] = std::clamp(series.response[i], -3.0 * noise, 3.0 * noise);
  const double zero = dot(clipped.data(), clipped.data(), clipped.size());
  series.noise = std::sqrt(zero / std::max(1.0, static_cast<double>(size.size())));
  for (std::size_t lag = 1; lag <= lags && lag < clipped.size(); ++lag) {
    const double sum = dot(clipped.data(), clipped.data() + lag, clipped.size() - lag);
    const double taper =
        0.5 * (1.0 + std::cos(3.14159265358979 * static_cast<double>(lag) / static_cast<double>(lags + 1)));
    series.autocorrelation[lag] = zero > 0.0 ? taper * sum / zero : 0.0;
  }
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
