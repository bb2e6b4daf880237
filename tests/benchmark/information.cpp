#include "information.hpp"

#include <canalrule/base/fault.hpp>
#include <cmath>

namespace canalrule_benchmark {

Information information_of(const ColouredNoise& noise, const std::vector<cv::Mat>& slopes) {
  Information told;
  const int n = static_cast<int>(slopes.size());
  cv::Mat information(n, n, CV_64F);
  for (int i = 0; i < n; ++i) {
    told.white.push_back(noise.whitened(slopes[static_cast<std::size_t>(i)]));
    for (int j = 0; j <= i; ++j)
      information.at<double>(i, j) = information.at<double>(j, i) =
          told.white.back().dot(slopes[static_cast<std::size_t>(j)]);
  }
  // Scaled to a diagonal of ones before it is inverted.
  cv::Mat scale(n, 1, CV_64F);
  for (int i = 0; i < n; ++i) scale.at<double>(i) = 1.0 / std::sqrt(information.at<double>(i, i) + 1e-300);
  const cv::Mat scaled = information.mul(scale * scale.t());
  canalrule::ensure(cv::invert(scaled, told.inverse, cv::DECOMP_SVD) > 0.0, "information that can be inverted");
  told.inverse = told.inverse.mul(scale * scale.t());
  return told;
}

}  // namespace canalrule_benchmark
