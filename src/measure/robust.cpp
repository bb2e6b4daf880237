#include "robust.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace canalrule {

double median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double deviation_from(std::vector<double> magnitudes) { return 1.4826 * median(std::move(magnitudes)); }

double robust_deviation(const std::vector<double>& values) {
  const double centre = median(values);
  std::vector<double> away;
  away.reserve(values.size());
  for (const double v : values) away.push_back(std::fabs(v - centre));
  return deviation_from(std::move(away));
}

}  // namespace canalrule
