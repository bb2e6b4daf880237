#include "row_series.hpp"

#include <algorithm>
#include <cmath>

#include "dot.hpp"
#include "robust.hpp"

namespace canalrule {

namespace {

/// Noise and autocorrelation as the rows show them.
void measure_noise(RowSeries& series, double step_px, double lag_px) {
  // Responses clipped at three deviations, so that a void or a step doesn't count as noise; slow drifts are
  // left to the caller's baseline.
  std::vector<bool> counts(series.response.size());
  std::vector<double> size;
  for (std::size_t i = 0; i < series.response.size(); ++i) {
    counts[i] = series.strength[i] > 0.0;
    if (counts[i]) size.push_back(std::fabs(series.response[i]));
  }
  const double noise = deviation_from(size);
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

}  // namespace

FlatRows::FlatRows(const StripGrid& grid, const cv::Mat& values, const cv::Mat& part, int first, int last)
    : grid_(grid), part_(part), flat_(std::max(0, last - first), grid.columns, CV_64FC1, cv::Scalar(0)), first_(first) {
  const auto columns = static_cast<std::size_t>(grid.columns);
  one_.assign(columns, 1.0);
  std::vector<double> square;
  for (int j = 0; j < grid.columns; ++j) {
    place_.push_back(j - 0.5 * grid.columns);
    square.push_back(place_.back() * place_.back());
  }
  for (int i = 0; i < flat_.rows; ++i) {
    const double* in = part.ptr<double>(first + i);
    const double* value = values.ptr<double>(first + i);
    double* flat = flat_.ptr<double>(i);
    for (std::size_t j = 0; j < columns; ++j) flat[j] = in[j] > 0.0 ? value[j] : 0.0;
    const auto [count, x, xx, sum] = dots(in, {one_.data(), place_.data(), square.data(), flat}, columns);
    moments_.push_back({count, x, xx});
    if (!moments_.back().good()) continue;
    const double by_place = dot(flat, place_.data(), columns);
    const double level = (xx * sum - x * by_place) / moments_.back().determinant();
    const double slope = (count * by_place - x * sum) / moments_.back().determinant();
    for (std::size_t j = 0; j < columns; ++j) flat[j] -= in[j] * (level + slope * place_[j]);
  }
}

RowSeries FlatRows::series(const cv::Mat& pattern, double lag_px) const {
  RowSeries series;
  const auto columns = static_cast<std::size_t>(grid_.columns);
  std::vector<double> shown(columns);
  for (int i = 0; i < flat_.rows; ++i) {
    series.s_px.push_back(grid_.s_px(first_ + i));
    series.response.push_back(0.0);
    series.strength.push_back(0.0);
    const Moments& m = moments_[static_cast<std::size_t>(i)];
    if (!m.good()) continue;
    // What is flat already takes level and slope out of its products with a pattern.
    const double* in = part_.ptr<double>(first_ + i);
    const double* t = pattern.ptr<double>(first_ + i);
    const double* flat = flat_.ptr<double>(i);
    for (std::size_t j = 0; j < columns; ++j) shown[j] = in[j] * t[j];
    const auto [sum, by_place, response, same] = dots(shown.data(), {one_.data(), place_.data(), flat, flat}, columns);
    double squares = dot(shown.data(), t, columns);
    const double least = 1e-12 * squares;
    squares -= (m.xx * sum * sum - 2.0 * m.x * sum * by_place + m.count * by_place * by_place) / m.determinant();
    if (squares <= least) continue;
    series.strength.back() = std::sqrt(squares);
    series.response.back() = response / series.strength.back();
  }
  measure_noise(series, grid_.step_px, lag_px);
  return series;
}

}  // namespace canalrule
