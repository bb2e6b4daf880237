#pragma once

#include <canalrule/base/point.hpp>
#include <opencv2/core.hpp>

namespace canalrule {

/// A bent line through places on a plane, by least squares: both coordinates are parabolas of how far along it lies.
class Parabola {
 public:
  void add(double along, Point place);
  bool solve();  ///< false: fewer than three places
  Point at(double along) const;
  Point slope(double along) const;

 private:
  cv::Matx33d normal_ = cv::Matx33d::zeros();
  cv::Vec3d right_x_{0.0, 0.0, 0.0}, right_y_{0.0, 0.0, 0.0};
  cv::Vec3d x_{0.0, 0.0, 0.0}, y_{0.0, 0.0, 0.0};  ///< by powers
};

}  // namespace canalrule
