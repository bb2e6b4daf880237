#pragma once

#include <canalrule/geometry/strip.hpp>
#include <opencv2/core.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// What surrounds a root's end, its own rounding, ligament space and lamina dura, lies in contours that bend about it,
/// and under a fill that ends there it can't be seen. It is read beside the fill and beyond it, and each place on the
/// axis takes after those of its own contour.
/// Returns the strip's values (CV_32FC1) without what these contours change across the canal; the values on the axis
/// are kept. Where the film shows no such contours, or the fill ends far from the apex (s = 0), the strip's own values.
/// `mask` (CV_8UC1): 0 leaves a pixel out. `fill`: a first fit of it.
cv::Mat without_end_contours(const Strip& strip, const cv::Mat& mask, const FillModel& fill, double mm_per_px);

}  // namespace canalrule
