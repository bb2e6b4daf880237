#pragma once

#include <opencv2/core.hpp>

namespace canalrule::phantom {

/// What lossy compression leaves of a CV_16UC1 film of `bits`: each block of 8 x 8 pixels transformed,
/// its coefficients rounded to multiples of the example luminance table of ITU-T T.81 (1992), K.1, times
/// `coarseness` (and 2^(bits - 8)), and back. Blocks at the edges repeat the last pixels.
void compress(cv::Mat& grey, double coarseness, int bits);

}  // namespace canalrule::phantom
