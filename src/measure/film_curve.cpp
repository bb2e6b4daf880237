#include "film_curve.hpp"

#include <algorithm>

namespace canalrule {

double Surroundings::at(double s) const {
  if (level.size() < 2) return 0.0;
  const double row = std::clamp((s - first_s_px) / row_px, 0.0, static_cast<double>(level.size() - 1));
  const std::size_t i = std::min(static_cast<std::size_t>(row), level.size() - 2);
  return level[i] + (row - static_cast<double>(i)) * (level[i + 1] - level[i]);
}

}  // namespace canalrule
