#include "ridge.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "robust.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/terminus.cpp holds them.
constexpr double block_mm = 0.10;   ///< rows averaged into one step of the search
constexpr double search_mm = 0.60;  ///< farthest offset of the fill from the drawn line
constexpr double hand_mm = 0.15;    ///< a hand's offset from the centre, standard deviation

}  // namespace

Blocks average_blocks(const Strip& strip, const cv::Mat& mask, double mm_per_px) {
  const StripGrid& grid = strip.grid;
  const int rows = std::max(1, static_cast<int>(std::lround(block_mm / (mm_per_px * grid.step_px))));
  Blocks blocks;
  blocks.block_px = rows * grid.step_px;
  for (int first = 0; first + rows <= grid.rows; first += rows) {
    std::vector<double> sum(static_cast<std::size_t>(grid.columns), 0.0);
    std::vector<int> count(static_cast<std::size_t>(grid.columns), 0);
    std::vector<char> other(sum.size(), 0);
    for (int i = first; i < first + rows; ++i) {
      const float* value = strip.value.ptr<float>(i);
      const std::uint8_t* usable = strip.usable.ptr<std::uint8_t>(i);
      const std::uint8_t* own = mask.ptr<std::uint8_t>(i);
      for (std::size_t j = 0; j < sum.size(); ++j) {
        if (own[j] == 0) other[j] = 1;
        if (usable[j] == 0 || own[j] == 0) continue;
        sum[j] += static_cast<double>(value[j]);
        ++count[j];
      }
    }
    std::vector<char> good(sum.size(), 0);
    for (std::size_t j = 0; j < sum.size(); ++j) {
      if (count[j] * 2 < rows) continue;
      sum[j] /= count[j];
      good[j] = 1;
    }
    blocks.value.push_back(std::move(sum));
    blocks.usable.push_back(std::move(good));
    blocks.foreign.push_back(std::move(other));
    blocks.s_px.push_back(grid.s_px(first + 0.5 * (rows - 1)));
  }
  return blocks;
}

Ridge find_ridge(const Blocks& blocks, const std::vector<Template>& templates, int middle,
                 double columns_per_mm, double hand_weight) {
  const auto rows = blocks.value.size();
  const int reach = static_cast<int>(std::ceil(search_mm * columns_per_mm));
  const auto places = static_cast<std::size_t>(2 * reach + 1);
  const std::size_t sizes = templates.size();
  const std::size_t states = places * sizes;

  std::vector<double> amplitude(rows * states);
  std::vector<double> deviation(sizes);
  for (std::size_t r = 0; r < sizes; ++r) {
    std::vector<double> seen;
    const int wide = (static_cast<int>(blocks.value.front().size()) - 1) / 2 - templates[r].half();
    for (std::size_t b = 0; b < rows; ++b) {
      for (int c = -wide; c <= wide; c += 2) {
        const double a = templates[r].amplitude(blocks.value[b], blocks.usable[b], middle + c);
        if (!std::isnan(a)) seen.push_back(a);
      }
      for (std::size_t p = 0; p < places; ++p) {
        const int column = middle + static_cast<int>(p) - reach;
        amplitude[b * states + p * sizes + r] =
            templates[r].amplitude(blocks.value[b], blocks.usable[b], column);
      }
    }
    deviation[r] = std::max(robust_deviation(seen), 1e-9);
  }

  // A size is chosen by how much of the film's variation it explains, in one unit for all sizes: each
  // size's own noise would favour the smallest, to which smooth surroundings are the quietest.
  double unit = 0.0;
  for (std::size_t r = 0; r < sizes; ++r)
    unit += deviation[r] * std::sqrt(templates[r].norm) / static_cast<double>(sizes);

  // Viterbi's recursion from crown to apex: evidence against roughness.
  const double hand = hand_mm * columns_per_mm;
  const double stiffness = 0.03 * columns_per_mm;  // one block's usual change of offset, columns
  const double none = -1e30;
  std::vector<double> best(states, 0.0);
  std::vector<std::vector<int>> from(rows, std::vector<int>(states, -1));
  const auto emission = [&](std::size_t b, std::size_t p, std::size_t r) {
    const double a = amplitude[b * states + p * sizes + r];
    const double away = (static_cast<double>(p) - reach) / hand;
    const double explained = std::isnan(a) ? 0.0 : std::max(0.0, a) * std::sqrt(templates[r].norm) / unit;
    // A hand is mostly near, at times far: heavier tails than a normal distribution's.
    return 20.0 * std::log1p(explained / 20.0) - hand_weight * std::log1p(0.5 * away * away);
  };
  for (std::size_t step = 0; step < rows; ++step) {
    const std::size_t b = rows - 1 - step;
    std::vector<double> next(states, none);
    for (std::size_t p = 0; p < places; ++p) {
      for (std::size_t r = 0; r < sizes; ++r) {
        const double here = emission(b, p, r);
        double top = step == 0 ? 0.0 : none;
        int origin = -1;
        if (step > 0) {
          for (int dp = -2; dp <= 2; ++dp) {
            const auto q = static_cast<std::int64_t>(p) + dp;
            if (q < 0 || q >= static_cast<std::int64_t>(places)) continue;
            const double turn = 0.5 * (dp / stiffness) * (dp / stiffness);
            for (int dr = -1; dr <= 1; ++dr) {
              const auto o = static_cast<std::int64_t>(r) + dr;
              if (o < 0 || o >= static_cast<std::int64_t>(sizes)) continue;
              const auto state = static_cast<std::size_t>(q) * sizes + static_cast<std::size_t>(o);
              const double value = best[state] - turn - (dr != 0 ? 2.0 : 0.0);
              if (value > top) {
                top = value;
                origin = static_cast<int>(state);
              }
            }
          }
        }
        next[p * sizes + r] = top + here;
        from[b][p * sizes + r] = origin;
      }
    }
    best = std::move(next);
  }

  Ridge ridge;
  ridge.offset.resize(rows);
  ridge.radius.resize(rows);
  ridge.height.resize(rows);
  ridge.sure.resize(rows);
  auto state = static_cast<int>(std::max_element(best.begin(), best.end()) - best.begin());
  for (std::size_t b = 0; b < rows; ++b) {
    const std::size_t p = static_cast<std::size_t>(state) / sizes;
    const std::size_t r = static_cast<std::size_t>(state) % sizes;
    const double a = amplitude[b * states + static_cast<std::size_t>(state)];
    ridge.offset[b] = static_cast<double>(p) - reach;
    ridge.radius[b] = templates[r].radius;
    ridge.height[b] = std::isnan(a) ? 0.0 : a;
    ridge.sure[b] = std::isnan(a) ? 0.0 : std::max(0.0, a) * std::sqrt(templates[r].norm) / unit;
    if (from[b][static_cast<std::size_t>(state)] >= 0) state = from[b][static_cast<std::size_t>(state)];
  }
  return ridge;
}

}  // namespace canalrule
