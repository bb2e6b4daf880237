#pragma once

#include <canalrule/geometry/strip.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// The film's level beside a fill, rows [first, last) of its strip. `part` (CV_64FC1): 0 leaves a pixel out; so does
/// the thickness of other fills, `other` (the same, or empty), about which their blurred edges are left out too.
Surroundings look_beside(const Strip& strip, const cv::Mat& part, const FillModel& fill, int first, int last,
                         double mm_per_px, const cv::Mat& other = {});

}  // namespace canalrule
