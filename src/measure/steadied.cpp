#include "steadied.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/laws/redrawn.cpp holds them. A canal's sharpest bend, of 3 mm radius, is cut by
// 0.04.
constexpr double apart_mm = 0.8;  ///< of points on the average, from where they stand as drawn; and of those taken
constexpr double about_mm = 0.5;  ///< the Gaussian's deviation
constexpr double far_mm = 0.6, together_mm = 0.1;  ///< of the points near a place: from it; their deviation
constexpr std::size_t fewest = 3;

}  // namespace

Polyline steadied(const Polyline& drawn, double aspect, double mm_per_px) {
  std::vector<double> along{0.0};
  for (std::size_t k = 1; k < drawn.size(); ++k)
    along.push_back(along.back() + mm_per_px * std::hypot(drawn[k].x - drawn[k - 1].x,
                                                          aspect * (drawn[k].y - drawn[k - 1].y)));
  const double length = along.back();
  if (drawn.size() <= fewest || length >= apart_mm * static_cast<double>(drawn.size() - 1)) return drawn;
  const auto pieces = std::max(fewest - 1, static_cast<std::size_t>(std::lround(length / apart_mm)));
  Polyline steady;
  for (std::size_t i = 0; i <= pieces; ++i) {
    const double place = length * static_cast<double>(i) / static_cast<double>(pieces);
    double s0 = 0.0, s1 = 0.0, s2 = 0.0;
    Point sum{0.0, 0.0}, first{0.0, 0.0};
    for (std::size_t k = 0; k < drawn.size(); ++k) {
      const double away = along[k] - place;
      const double w = std::exp(-0.5 * away * away / (about_mm * about_mm));
      s0 += w;
      s1 += w * away;
      s2 += w * away * away;
      sum.x += w * drawn[k].x;
      sum.y += w * drawn[k].y;
      first.x += w * away * drawn[k].x;
      first.y += w * away * drawn[k].y;
    }
    if (s0 <= 0.0 || std::fabs(s1) > far_mm * s0) continue;  // a gap, which the line crosses by itself
    const double det = s0 * s2 - s1 * s1;
    if (det < together_mm * together_mm * s0 * s0)  // a hand that paused tells a place and no direction
      steady.push_back({sum.x / s0, sum.y / s0});
    else
      steady.push_back({(s2 * sum.x - s1 * first.x) / det, (s2 * sum.y - s1 * first.y) / det});
  }
  return steady.size() < 2 ? drawn : steady;
}

}  // namespace canalrule
