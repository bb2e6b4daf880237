#include "ridge.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "dot.hpp"
#include "robust.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/terminus.cpp holds them.
constexpr double block_mm = 0.10;   ///< rows averaged into one step of the search
constexpr double search_mm = 0.60;  ///< farthest offset of the fill from the drawn line

}  // namespace

Template::Template(double r, double flank) : radius(r) {
  const int half = static_cast<int>(std::ceil(r + flank));
  // The area under a half ellipse of unit height from its middle to n.
  const auto area = [r](double n) {
    const double x = std::clamp(n / r, -1.0, 1.0);
    return 0.5 * r * (x * std::sqrt(1.0 - x * x) + std::asin(x));
  };
  for (int k = -half; k <= half; ++k) weight.push_back(area(k + 0.5) - area(k - 0.5));
  double s0 = 0, s2 = 0, s4 = 0, t0 = 0, t2 = 0;
  for (int k = -half; k <= half; ++k) {
    const double square = static_cast<double>(k) * k;
    const double w = weight[static_cast<std::size_t>(k + half)];
    s0 += 1.0;
    s2 += square;
    s4 += square * square;
    t0 += w;
    t2 += w * square;
  }
  const double det = s0 * s4 - s2 * s2;
  level = (s4 * t0 - s2 * t2) / det;
  vault = (s0 * t2 - s2 * t0) / det;
  const int inside = static_cast<int>(std::ceil(r + 0.5));
  chord.assign(weight.begin() + (half - inside), weight.begin() + (half + inside + 1));
  norm = 0.0;
  for (int k = -half; k <= half; ++k) {
    double& w = weight[static_cast<std::size_t>(k + half)];
    w -= level + vault * static_cast<double>(k) * k;
    norm += w * w;
  }
}

double Template::amplitude(const Blocks& blocks, std::size_t block, int column) const {
  const std::vector<double>& value = blocks.value[block];
  const int from = column - half();
  if (from < 0 || column + half() >= static_cast<int>(value.size())) return std::nan("");
  const auto first = static_cast<std::size_t>(from);
  const std::size_t count = weight.size();
  const Moments& moments = blocks.moments[block];
  if (moments.unusable[first + count] == moments.unusable[first]) {
    const double zeroth = moments.zeroth[first + count] - moments.zeroth[first];
    const double once = moments.first[first + count] - moments.first[first];
    const double twice = moments.second[first + count] - moments.second[first];
    const double about = twice - column * (2.0 * once - column * zeroth);
    const std::size_t inner = static_cast<std::size_t>(column) - chord.size() / 2;
    return (dot(chord.data(), value.data() + inner, chord.size()) - level * zeroth - vault * about) / norm;
  }
  const std::vector<char>& usable = blocks.usable[block];
  double sum = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    const std::size_t j = usable[first + k] != 0 ? first + k : first + count - 1 - k;
    if (usable[j] == 0) return std::nan("");
    sum += weight[k] * value[j];
  }
  return sum / norm;
}

namespace {

Moments moments_of(const std::vector<double>& value, const std::vector<char>& usable) {
  Moments moments;
  moments.unusable.assign(1, 0);
  for (std::vector<double>* sum : {&moments.zeroth, &moments.first, &moments.second}) {
    sum->reserve(value.size() + 1);
    sum->push_back(0.0);
  }
  for (std::size_t j = 0; j < value.size(); ++j) {
    const auto column = static_cast<double>(j);
    moments.zeroth.push_back(moments.zeroth.back() + value[j]);
    moments.first.push_back(moments.first.back() + value[j] * column);
    moments.second.push_back(moments.second.back() + value[j] * column * column);
    moments.unusable.push_back(moments.unusable.back() + (usable[j] == 0 ? 1 : 0));
  }
  return moments;
}

Blocks average_rows(const Strip& strip, const cv::Mat& mask, int rows) {
  const StripGrid& grid = strip.grid;
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
    blocks.moments.push_back(moments_of(sum, good));
    blocks.value.push_back(std::move(sum));
    blocks.usable.push_back(std::move(good));
    blocks.foreign.push_back(std::move(other));
    blocks.s_px.push_back(grid.s_px(first + 0.5 * (rows - 1)));
  }
  return blocks;
}

}  // namespace

Blocks average_blocks(const Strip& strip, const cv::Mat& mask, double mm_per_px) {
  return average_rows(strip, mask,
                      std::max(1, static_cast<int>(std::lround(block_mm / (mm_per_px * strip.grid.step_px)))));
}

Blocks rows_as_blocks(const Strip& strip) {
  return average_rows(strip, cv::Mat(strip.value.size(), CV_8UC1, cv::Scalar(255)), 1);
}

Ridge find_ridge(const Blocks& blocks, const std::vector<Template>& templates, int middle,
                 double columns_per_mm, double hand_weight, const std::vector<double>& widest) {
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
      for (int c = -wide; c <= wide; ++c) {
        const bool searched = c >= -reach && c <= reach;
        const bool counts = c % 3 == 0 && b % 2 == 0;  // neighbours tell little new of the deviation
        if (!searched && !counts) continue;
        const double a = templates[r].amplitude(blocks, b, middle + c);
        if (searched) amplitude[b * states + r * places + static_cast<std::size_t>(c + reach)] = a;
        if (counts && !std::isnan(a)) seen.push_back(a);
      }
      for (int c = std::max(0, wide + 1); c <= reach; ++c)
        for (const int side : {-c, c})
          amplitude[b * states + r * places + static_cast<std::size_t>(side + reach)] = std::nan("");
    }
    deviation[r] = std::max(robust_deviation(seen), 1e-9);
  }

  // A size is chosen by how much of the film's variation it explains, in one unit for all sizes: each
  // size's own noise would favour the smallest, to which smooth surroundings are the quietest.
  double unit = 0.0;
  for (std::size_t r = 0; r < sizes; ++r)
    unit += deviation[r] * std::sqrt(templates[r].norm) / static_cast<double>(sizes);

  // Viterbi's recursion from crown to apex: evidence against roughness. A step turns to a neighbouring size
  // first, then to a neighbouring place.
  const double hand = hand_mm * columns_per_mm;
  const double stiffness = 0.03 * columns_per_mm;  // one block's usual change of offset, columns
  constexpr double none = -1e30;
  constexpr double resize = 2.0;
  std::vector<double> by_hand(places);
  for (std::size_t p = 0; p < places; ++p) {
    // A hand is mostly near, at times far: heavier tails than a normal distribution's.
    const double away = (static_cast<double>(p) - reach) / hand;
    by_hand[p] = hand_weight * std::log1p(0.5 * away * away);
  }
  std::vector<double> best(states, 0.0);
  std::vector<double> sized(states);
  std::vector<int> size_from(states);
  std::vector<std::vector<int>> from(rows, std::vector<int>(states, -1));
  for (std::size_t step = 0; step < rows; ++step) {
    const std::size_t b = rows - 1 - step;
    std::vector<double> next(states, step == 0 ? 0.0 : none);
    if (step > 0) {
      sized = best;
      for (std::size_t state = 0; state < states; ++state) size_from[state] = static_cast<int>(state);
      for (std::size_t r = 0; r < sizes; ++r) {
        for (const std::size_t o : {r - 1, r + 1}) {
          if (o >= sizes) continue;
          for (std::size_t p = 0; p < places; ++p) {
            const double value = best[o * places + p] - resize;
            if (value > sized[r * places + p]) {
              sized[r * places + p] = value;
              size_from[r * places + p] = static_cast<int>(o * places + p);
            }
          }
        }
      }
      for (int dp = -2; dp <= 2; ++dp) {
        const double turn = 0.5 * (dp / stiffness) * (dp / stiffness);
        const std::size_t low = dp < 0 ? static_cast<std::size_t>(-dp) : 0;
        const std::size_t high = dp > 0 ? places - static_cast<std::size_t>(dp) : places;
        for (std::size_t r = 0; r < sizes; ++r) {
          for (std::size_t p = low; p < high; ++p) {
            const std::size_t to = r * places + p;
            const std::size_t origin = to + static_cast<std::size_t>(static_cast<std::ptrdiff_t>(dp));
            const double value = sized[origin] - turn;
            if (value > next[to]) {
              next[to] = value;
              from[b][to] = size_from[origin];
            }
          }
        }
      }
    }
    for (std::size_t r = 0; r < sizes; ++r) {
      const double scale = std::sqrt(templates[r].norm) / unit;
      const bool may_be = widest.empty() || templates[r].radius <= widest[b];
      for (std::size_t p = 0; p < places; ++p) {
        const double a = amplitude[b * states + r * places + p];
        const double explained = a > 0.0 && may_be ? a * scale : 0.0;
        next[r * places + p] += 20.0 * std::log1p(explained / 20.0) - by_hand[p];
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
    const std::size_t r = static_cast<std::size_t>(state) / places;
    const std::size_t p = static_cast<std::size_t>(state) % places;
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
