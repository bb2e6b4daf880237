#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "coloured_noise.hpp"

namespace canalrule_benchmark {

/// What noisy pixels tell of parameters, given how the film changes with each.
struct Information {
  std::vector<cv::Mat> white;  ///< the inverse covariance of the noise times each slope
  cv::Mat inverse;             ///< of Fisher's information
};
Information information_of(const ColouredNoise& noise, const std::vector<cv::Mat>& slopes);

}  // namespace canalrule_benchmark
