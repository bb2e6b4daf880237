#include "parabola.hpp"

namespace canalrule {

void Parabola::add(double along, Point place) {
  const cv::Vec3d powers(1.0, along, along * along);
  normal_ += powers * powers.t();
  right_x_ += powers * place.x;
  right_y_ += powers * place.y;
}

bool Parabola::solve() {
  return cv::solve(normal_, right_x_, x_, cv::DECOMP_CHOLESKY) && cv::solve(normal_, right_y_, y_, cv::DECOMP_CHOLESKY);
}

Point Parabola::at(double along) const {
  const cv::Vec3d powers(1.0, along, along * along);
  return {x_.dot(powers), y_.dot(powers)};
}

Point Parabola::slope(double along) const {
  return {x_[1] + 2.0 * along * x_[2], y_[1] + 2.0 * along * y_[2]};
}

}  // namespace canalrule
