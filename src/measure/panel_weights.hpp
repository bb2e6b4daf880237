#pragma once

#include "normal_equations.hpp"

namespace canalrule {

/// Bisquare weights of a panel's residuals (Beaton and Tukey, Technometrics 1974;16:147): 0 beyond `width` deviations
/// of its noise.
void weigh(Panel& panel, double width);

/// The cost that those weights minimise: the sum of squared residuals where they are small.
double bisquare_cost(const Panel& panel, double width);

/// Standard deviation of the residuals by their median, of every fourth pixel that counts; 0 of fewer than 50.
double robust_noise(const Panel& panel);

/// Sums over patches of about a blur's reach: what a strip's pixel would vary by if independent pixels were to make the
/// patches' means vary as they do.
struct PatchVariance {
  double sum = 0.0;
  int count = 0;

  void add(const Panel& panel, double step_mm);
};

}  // namespace canalrule
