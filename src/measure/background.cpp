#include "background.hpp"

namespace canalrule {

Background Background::over(double from_px, double to_px, double knots_px, double flank_px) {
  Background b{LocalBasis::over(from_px, to_px, knots_px), flank_px, {}, {}};
  b.square.assign(static_cast<std::size_t>(b.basis.count), 0.0);
  b.cube = b.square;
  return b;
}

Background Background::moved_to(const Background& other) const {
  Background moved = other;
  if (square.empty()) return moved;
  const double wider = other.flank_px / flank_px;
  for (std::size_t k = 0; k < moved.square.size(); ++k) {
    // A spline's coefficient is near its value in the middle of what it acts on.
    const LocalBasis::Weights w = basis.at(other.basis.first + (static_cast<double>(k) - 1.0) * other.basis.step);
    moved.square[k] = moved.cube[k] = 0.0;
    for (std::size_t i = 0; i < w.value.size(); ++i) {
      moved.square[k] += wider * wider * w.value[i] * square[static_cast<std::size_t>(w.first) + i];
      moved.cube[k] += wider * wider * wider * w.value[i] * cube[static_cast<std::size_t>(w.first) + i];
    }
  }
  return moved;
}

}  // namespace canalrule
