#pragma once

#include <array>
#include <cstddef>
#include <opencv2/core/hal/intrin.hpp>

namespace canalrule {

/// Sums of the products of one row with each of four others, in an order that doesn't depend on the machine.
inline std::array<double, 4> dots(const double* a, const std::array<const double*, 4>& b, std::size_t n) {
  using cv::v_load;
  const auto [b0, b1, b2, b3] = b;
  cv::v_float64x2 p0 = cv::v_setzero_f64(), p1 = p0, p2 = p0, p3 = p0;
  cv::v_float64x2 q0 = p0, q1 = p0, q2 = p0, q3 = p0;
  std::size_t j = 0;
  for (; j + 4 <= n; j += 4) {
    const cv::v_float64x2 p = v_load(a + j);
    const cv::v_float64x2 q = v_load(a + j + 2);
    p0 = p0 + p * v_load(b0 + j);
    p1 = p1 + p * v_load(b1 + j);
    p2 = p2 + p * v_load(b2 + j);
    p3 = p3 + p * v_load(b3 + j);
    q0 = q0 + q * v_load(b0 + j + 2);
    q1 = q1 + q * v_load(b1 + j + 2);
    q2 = q2 + q * v_load(b2 + j + 2);
    q3 = q3 + q * v_load(b3 + j + 2);
  }
  std::array<double, 4> sum{cv::v_reduce_sum(p0 + q0), cv::v_reduce_sum(p1 + q1), cv::v_reduce_sum(p2 + q2),
                            cv::v_reduce_sum(p3 + q3)};
  for (; j < n; ++j)
    for (std::size_t k = 0; k < b.size(); ++k) sum[k] += a[j] * b[k][j];
  return sum;
}

/// Sum of products, likewise.
inline double dot(const double* a, const double* b, std::size_t n) {
  using cv::v_load;
  cv::v_float64x2 p = cv::v_setzero_f64(), q = p;
  std::size_t j = 0;
  for (; j + 4 <= n; j += 4) {
    p = p + v_load(a + j) * v_load(b + j);
    q = q + v_load(a + j + 2) * v_load(b + j + 2);
  }
  double sum = cv::v_reduce_sum(p) + cv::v_reduce_sum(q);
  for (; j < n; ++j) sum += a[j] * b[j];
  return sum;
}

}  // namespace canalrule
