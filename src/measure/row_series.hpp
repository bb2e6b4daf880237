#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "fill_fit.hpp"
#include "follow.hpp"

namespace canalrule {

/// One number a row along the fill: how strongly a pattern across the canal is present in what the fit
/// left over, with each row's own level and slope projected out of film and pattern alike. The number
/// is in units of radiopacity: amplitude times `strength`.
struct RowSeries {
  std::vector<double> s_px;
  std::vector<double> response;         ///< sum of residual x pattern / strength
  std::vector<double> strength;         ///< root of the pattern's sum of squares, 0 where a row can't serve
  double noise = 0.0;                   ///< robust standard deviation of the response
  std::vector<double> autocorrelation;  ///< of the response at lags of 0, 1, ... rows; tapered to 0

  double amplitude(std::size_t i) const { return strength[i] > 0.0 ? response[i] / strength[i] : 0.0; }
};

/// `residual` and `pattern` (CV_64FC1 of the strip's size) over rows [first, last); `part` 0 leaves a
/// pixel out. `lag_px`: the longest lag over which noise is taken to be correlated. `beside` (the same, or
/// empty): a second pattern that is projected out as well.
RowSeries row_series(const StripGrid& grid, const cv::Mat& residual, const cv::Mat& pattern,
                     const cv::Mat& part, int first, int last, double lag_px, const cv::Mat& beside = {});

/// Noise and autocorrelation as the rows outside [from, to] show them, px.
void measure_noise(RowSeries& series, double step_px, double lag_px, double from_px, double to_px);

/// Variance of sum_i w_i response_i.
double variance_of_sum(const RowSeries& series, const std::vector<double>& w);

}  // namespace canalrule
