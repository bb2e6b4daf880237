#include "restoration.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "robust.hpp"

namespace canalrule {

namespace {

// Chosen here; tests/truth/restoration.cpp.
constexpr double restoration_shows = 1.25;  ///< times what a fill shows, that what lies coronal of a gap does
constexpr double judged_by_mm = 1.0;        ///< to either side of that gap, that tells
constexpr double longest_foot_mm = 2.0;     ///< of a restoration, that the drawn path may go on into

}  // namespace

Level level_at(const Blocks& blocks, std::size_t block, int place, double radius, double flank) {
  std::array<double, 2> sum{};
  std::array<int, 2> count{};
  const int reach = static_cast<int>(radius + flank), columns = static_cast<int>(blocks.value[block].size());
  for (int j = std::max(0, place - reach); j <= std::min(columns - 1, place + reach); ++j) {
    const auto at = static_cast<std::size_t>(j);
    const double away = std::abs(j - place);
    if (blocks.usable[block][at] == 0 || (away > 0.5 * radius && away < radius + 0.25 * flank)) continue;
    const std::size_t where = away > radius ? 1 : 0;
    sum[where] += blocks.value[block][at];
    ++count[where];
  }
  return {count[0] > 0 ? sum[0] / count[0] : std::nan(""), count[1] > 0 ? sum[1] / count[1] : std::nan("")};
}

bool is_restoration(const Trace& trace, const std::vector<Level>& levels, const std::vector<bool>& under_another,
                    const LastGap& gap, std::size_t apical, std::size_t coronal, double mm_per_px) {
  const auto apart_mm = [&](std::size_t a, std::size_t b) { return (trace.s_px[b] - trace.s_px[a]) * mm_per_px; };
  if (apart_mm(gap.after, coronal) > longest_foot_mm) return false;
  std::size_t first = gap.before, last = gap.after;
  while (first > apical && apart_mm(first, gap.before) < judged_by_mm) --first;
  while (last < coronal && apart_mm(gap.after, last) < judged_by_mm) ++last;
  for (std::size_t b = first; b <= last; ++b)
    if (under_another[b]) return false;
  const auto typical = [&](std::size_t from, std::size_t to, double Level::* of) {
    std::vector<double> seen;
    for (std::size_t b = from; b <= to; ++b)
      if (!std::isnan(levels[b].*of)) seen.push_back(levels[b].*of);
    return seen.empty() ? std::nan("") : median(std::move(seen));
  };
  const double fill = typical(first, gap.before, &Level::inside) - typical(first, gap.before, &Level::beside);
  const double beyond =
      typical(gap.after, last, &Level::inside) - typical(gap.before + 1, gap.after - 1, &Level::beside);
  const double growth = trace.radius_px(trace.s_px[last]) / trace.radius_px(trace.s_px[first]);
  return fill > 0.0 && beyond > restoration_shows * std::max(1.0, growth) * fill;
}

}  // namespace canalrule
