#include "void_ends.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/voids.cpp holds them.
constexpr double first_step_mm = 0.06, last_step_mm = 0.004;
constexpr int most_turns = 30;
constexpr double spread_step_mm = 0.03;  ///< of ends that a void may as well have
constexpr double spread_reach_mm = 0.48;

}  // namespace

double explained(const Match& match) {
  const double beyond = match.amplitude > 1.0 ? (match.amplitude - 1.0) / match.u_amplitude : 0.0;
  return match.amplitude > 0.0 ? match.z * match.z - beyond * beyond : 0.0;
}

Ends settle_ends(const Matched& matched, Ends ends, double mm) {
  double now = explained(matched(ends.from, ends.to));
  for (double d = first_step_mm / mm; d > last_step_mm / mm; d *= 0.5) {
    bool moved = true;
    for (int turn = 0; turn < most_turns && moved; ++turn) {
      moved = false;
      for (const auto& [df, dt] : {std::pair{d, 0.0}, std::pair{-d, 0.0}, std::pair{0.0, d}, std::pair{0.0, -d},
                                   std::pair{-d, d}, std::pair{d, -d}}) {
        const Ends other{ends.from + df, ends.to + dt};
        if (other.to - other.from < least_void_mm / mm || other.to - other.from > longest_void_mm / mm) continue;
        const double there = explained(matched(other.from, other.to));
        if (there <= now + 1e-9) continue;
        ends = other;
        now = there;
        moved = true;
      }
    }
  }
  return ends;
}

Spread spread_about(const Matched& matched, Ends ends, double mm) {
  const double step = spread_step_mm / mm;
  const int reach = static_cast<int>(spread_reach_mm / spread_step_mm);
  const double top = explained(matched(ends.from, ends.to));
  double total = 0.0, length = 0.0, length2 = 0.0, deficit = 0.0, deficit2 = 0.0;
  for (int i = -reach; i <= reach; ++i)
    for (int k = -reach; k <= reach; ++k) {
      const double from = ends.from + i * step;
      const double to = ends.to + k * step;
      if (to - from < least_void_mm / mm) continue;
      const Match m = matched(from, to);
      const double w = std::exp(0.5 * heavier_tails * heavier_tails * (explained(m) - top));
      const double missing = std::clamp(m.amplitude, 0.0, 1.0);
      total += w;
      length += w * (to - from);
      length2 += w * (to - from) * (to - from);
      deficit += w * missing;
      deficit2 += w * (missing * missing + m.u_amplitude * m.u_amplitude);
    }
  length /= total;
  deficit /= total;
  return {std::sqrt(std::max(0.0, length2 / total - length * length)),
          std::sqrt(std::max(0.0, deficit2 / total - deficit * deficit))};
}

}  // namespace canalrule
