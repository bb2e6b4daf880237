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

/// A strip's rows [first, last), each less the level and the slope that fit it best: CV_64FC1 of the strip's size;
/// `part` 0 leaves a pixel out.
class FlatRows {
 public:
  FlatRows(const StripGrid& grid, const cv::Mat& values, const cv::Mat& part, int first, int last);

  /// How strongly `pattern` is present in them. `lag_px`: the longest lag over which noise is taken to be correlated.
  RowSeries series(const cv::Mat& pattern, double lag_px) const;

 private:
  /// Sums over a row's pixels that take part, by their place across.
  struct Moments {
    double count = 0.0, x = 0.0, xx = 0.0;

    double determinant() const { return count * xx - x * x; }
    bool good() const { return count >= 8.0 && determinant() > 0.0; }
  };

  StripGrid grid_;
  cv::Mat part_, flat_;
  int first_;
  std::vector<double> one_, place_;
  std::vector<Moments> moments_;
};

}  // namespace canalrule
