#include "fitted_line.hpp"

#include <cstddef>

namespace canalrule {

FittedLine line_through(const std::vector<double>& s, const std::vector<double>& value) {
  const auto n = static_cast<double>(s.size());
  double sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
  for (std::size_t k = 0; k < s.size(); ++k) {
    sx += s[k];
    sy += value[k];
    sxx += s[k] * s[k];
    sxy += s[k] * value[k];
  }
  const double slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
  return {(sy - slope * sx) / n, slope};
}

}  // namespace canalrule
