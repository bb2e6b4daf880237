#pragma once

#include <canalrule/geometry/strip.hpp>

#include "fill_model.hpp"

namespace canalrule {

/// The film's level beside a fill, rows [first, last) of its strip. `part` (CV_64FC1): 0 leaves a pixel out.
Surroundings look_beside(const Strip& strip, const cv::Mat& part, const FillModel& fill, int first, int last,
                         double mm_per_px);

}  // namespace canalrule
