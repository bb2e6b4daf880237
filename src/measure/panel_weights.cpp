#include "panel_weights.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

#include "robust.hpp"

namespace canalrule {

namespace {

/// Side of the patches whose means tell how far noise is correlated, mm: the scale of an end or a knot.
/// Chosen here; tests/truth/terminus.cpp and width.cpp.
constexpr double patch_mm = 0.3;

}  // namespace

void weigh(Panel& panel, double width) {
  const double reach = width * panel.noise;
  for (int i = 0; i < panel.rows.rows; ++i) {
    const double* r = panel.residual.ptr<double>(i);
    const double* in = panel.part.ptr<double>(i);
    double* w = panel.weight.ptr<double>(i);
    for (int j = 0; j < panel.residual.cols; ++j) {
      const double u = r[j] / reach;
      const double left = std::max(0.0, 1.0 - u * u);
      w[j] = in[j] * left * left;
    }
  }
}

double bisquare_cost(const Panel& panel, double width) {
  const double reach2 = width * panel.noise * width * panel.noise;
  double sum = 0.0;
  for (int i = 0; i < panel.rows.rows; ++i) {
    const double* r = panel.residual.ptr<double>(i);
    const double* in = panel.part.ptr<double>(i);
    for (int j = 0; j < panel.residual.cols; ++j) {
      const double left = std::max(0.0, 1.0 - r[j] * r[j] / reach2);
      sum += in[j] * (1.0 - left * left * left);
    }
  }
  return sum * reach2 / 3.0;
}

double robust_noise(const Panel& panel) {
  std::vector<double> seen;
  for (int i = 0; i < panel.rows.rows; ++i) {
    const double* w = panel.weight.ptr<double>(i);
    const double* r = panel.residual.ptr<double>(i);
    for (int j = i % 4; j < panel.residual.cols; j += 4)
      if (w[j] > 0.0) seen.push_back(std::fabs(r[j]));
  }
  if (seen.size() < 50) return 0.0;
  return deviation_from(std::move(seen));
}

void PatchVariance::add(const Panel& panel, double step_mm) {
  const int columns = std::max(2, static_cast<int>(std::lround(patch_mm / step_mm)));
  const int rows = std::max(1, static_cast<int>(std::lround(patch_mm / (step_mm * panel.strip_rows))));
  for (int i = 0; i + rows <= panel.rows.rows; i += rows) {
    for (int j = 0; j + columns <= panel.residual.cols; j += columns) {
      double total = 0.0;
      int used = 0;
      for (int a = 0; a < rows; ++a) {
        const double* r = panel.residual.ptr<double>(i + a) + j;
        const double* w = panel.weight.ptr<double>(i + a) + j;
        for (int b = 0; b < columns; ++b) {
          if (w[b] <= 0.0) continue;
          total += std::clamp(r[b], -4.0 * panel.noise, 4.0 * panel.noise);
          ++used;
        }
      }
      if (used < 0.8 * rows * columns) continue;
      sum += total * total * panel.strip_rows / used;
      ++count;
    }
  }
}

}  // namespace canalrule
