#include "fitted_line.hpp"

#include <cstddef>

namespace canalrule {

FittedLine line_through(const std::vector<double>& s, const std::vector<double>& value) {
  return line_through(s, value, std::vector<double>(s.size(), 1.0));
}

FittedLine line_through(const std::vector<double>& s, const std::vector<double>& value,
                        const std::vector<double>& weight) {
  double w = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
  for (std::size_t k = 0; k < s.size(); ++k) {
    w += weight[k];
    sx += weight[k] * s[k];
    sy += weight[k] * value[k];
    sxx += weight[k] * s[k] * s[k];
    sxy += weight[k] * s[k] * value[k];
  }
  const double spread = w * sxx - sx * sx;
  const double slope = spread > 1e-12 * w * sxx ? (w * sxy - sx * sy) / spread : 0.0;
  return {w > 0.0 ? (sy - slope * sx) / w : 0.0, slope};
}

}  // namespace canalrule
