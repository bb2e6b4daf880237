#pragma once

#include <opencv2/core.hpp>

#include <canalrule/geometry/path.hpp>

namespace canalrule {

/// Where a straightened strip samples the film: row i at arc length first_s_px + i * step_px, column j
/// at first_n_px + j * step_px to the side.
struct StripGrid {
  double first_s_px = 0.0;
  double first_n_px = 0.0;
  double step_px = 1.0;
  int rows = 0;
  int columns = 0;

  double s_px(double row) const { return first_s_px + row * step_px; }
  double n_px(double column) const { return first_n_px + column * step_px; }
  double row_of(double s) const { return (s - first_s_px) / step_px; }
  double column_of(double n) const { return (n - first_n_px) / step_px; }
};

/// A film straightened along a canal.
struct Strip {
  StripGrid grid;
  cv::Mat value;   ///< CV_32FC1, rows x columns
  cv::Mat usable;  ///< CV_8UC1, 255 where every pixel that was used carries film
};

/// Samples `plane` (CV_32FC1) along the path's normals by cubic convolution (Keys, IEEE Trans. Acoust.
/// Speech Signal Process. 1981;29:1153, a = -1/2), places in double and values in single precision: cv::remap
/// rounds places to 1/32 px. `unusable` (CV_8UC1 or empty): 255 marks pixels without film. What lies off the film is
/// unusable. `origin`: the plane's first column and row on the film, where it is a part of it; `unusable` is of
/// the film's size.
Strip sample_strip(const cv::Mat& plane, const cv::Mat& unusable, const CanalPath& path,
                   const StripGrid& grid, cv::Point origin = {});

}  // namespace canalrule
