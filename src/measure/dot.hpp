#pragma once

#include <array>
#include <cstddef>

namespace canalrule {

/// Sum of products, in an order that doesn't depend on the machine.
inline double dot(const double* a, const double* b, std::size_t n) {
  std::array<double, 4> part{};
  std::size_t j = 0;
  for (; j + 4 <= n; j += 4)
    for (std::size_t k = 0; k < 4; ++k) part[k] += a[j + k] * b[j + k];
  for (; j < n; ++j) part[0] += a[j] * b[j];
  return (part[0] + part[1]) + (part[2] + part[3]);
}

}  // namespace canalrule
