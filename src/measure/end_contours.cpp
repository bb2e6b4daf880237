#include "end_contours.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

#include "fitted_line.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/terminus.cpp holds them.
constexpr double near_mm = 1.0, far_mm = 1.5;  ///< from the apex, where an end is among them, and is not
constexpr double reach_mm = 0.9;    ///< apical and coronal of the fill's end
constexpr double bent_mm = 1.5;     ///< farther apical that contours of the flanks meet the axis
constexpr double fade_mm = 0.2;     ///< of the reach, over which what is taken off begins and ends
constexpr double aside_mm = 0.8;    ///< of the canal's axis
constexpr double patch_mm = 0.06;   ///< whose means are looked at
constexpr double knots_mm = 0.05;   ///< of the level along the axis
constexpr double clear_mm = 0.08;   ///< by which the fill's first guess may be off
constexpr double clear_blurs = 2.5; ///< and deviations of its blur
constexpr double held = 1e-3;       ///< weight of a level that goes on as it is, of that of the patches
constexpr std::size_t least_patches = 200;
constexpr double patches_alike = 6.0;  ///< that tell as much as one that is independent
/// Degrees of freedom of contours and level, and how far above its expectation by chance what they explain must be:
/// beside a fill that ends far from the root's end it was up to 2.5 times, at the root's end 10 to 100 times.
constexpr double freedom = 20.0;
constexpr double least_gain = 8.0;

struct Patch {
  double s, n;  ///< along the canal from the apex, and from the axis at the fill's end, mm
  double value;
  int row;
};

/// Within the root halves of concentric ellipses, which go on beside their centre as lines along the canal; beyond its
/// end, at s = 0, lines parallel to that of them which goes through it, as ligament space and lamina dura lie about it.
struct Contours {
  double centre = 0.0, aside = 0.0;  ///< of the ellipses, mm
  double aspect = 0.0;               ///< their length along the canal over that across

  /// Where the contour of a place crosses the axis, mm.
  double on_axis(double s, double n) const {
    const double along = std::max(0.0, centre - s);
    const double across = aspect * (n - aside);
    const double away = std::hypot(along, across);
    const double within = centre - away;
    // A distance is a function over its slope, to first order.
    return within >= 0.0 ? within : within * away / std::hypot(along, aspect * across);
  }
};

/// Level along the axis, straight between knots.
class Level {
 public:
  Level(const std::vector<Patch>& patches, const Contours& contours, double from, double to) : from_(from) {
    const auto knots = static_cast<std::size_t>((to - from) / knots_mm) + 2;
    value_.assign(knots, 0.0);
    // Normal equations, of three diagonals.
    std::vector<double> own(knots, 0.0), next(knots, 0.0), right(knots, 0.0);
    for (const Patch& p : patches) {
      const auto [k, f] = place(contours.on_axis(p.s, p.n));
      own[k] += (1.0 - f) * (1.0 - f);
      own[k + 1] += f * f;
      next[k] += f * (1.0 - f);
      right[k] += (1.0 - f) * p.value;
      right[k + 1] += f * p.value;
      left_ += p.value * p.value;
    }
    const double hold = held * static_cast<double>(patches.size()) / static_cast<double>(knots);
    for (std::size_t k = 0; k + 1 < knots; ++k) {
      own[k] += hold;
      own[k + 1] += hold;
      next[k] -= hold;
    }
    std::vector<double> reduced = right;
    for (std::size_t k = 1; k < knots; ++k) {
      const double w = next[k - 1] / own[k - 1];
      own[k] -= w * next[k - 1];
      reduced[k] -= w * reduced[k - 1];
    }
    for (std::size_t k = knots; k-- > 0;) {
      value_[k] = (reduced[k] - (k + 1 < knots ? next[k] * value_[k + 1] : 0.0)) / own[k];
      left_ -= right[k] * value_[k];
    }
  }

  double at(double s) const {
    const auto [k, f] = place(s);
    return (1.0 - f) * value_[k] + f * value_[k + 1];
  }
  double left() const { return left_; }  ///< sum of squares that it leaves

 private:
  std::pair<std::size_t, double> place(double s) const {
    const double x = std::clamp((s - from_) / knots_mm, 0.0, static_cast<double>(value_.size()) - 1.001);
    const auto k = static_cast<std::size_t>(x);
    return {k, x - static_cast<double>(k)};
  }

  double from_;
  std::vector<double> value_;
  double left_ = 0.0;
};

/// Beside the fill, and beyond it and the empty canal.
std::vector<Patch> look_about(const Strip& strip, const cv::Mat& mask, const FillModel& fill, double mm) {
  const StripGrid& grid = strip.grid;
  const int group = std::max(1, static_cast<int>(std::lround(patch_mm / (mm * grid.step_px))));
  const double end = fill.end_px;
  const double axis = fill.centre_px(end);
  const double clear = clear_blurs * fill.blur_px + clear_mm / mm;
  const double filled_from = std::min(end, 0.0) - clear;
  const int first = std::max(0, static_cast<int>(std::ceil(grid.row_of(end - reach_mm / mm))));
  const int last = std::min(grid.rows, static_cast<int>(grid.row_of(end + reach_mm / mm)));
  std::vector<Patch> patches;
  for (int i = first; i + group <= last; i += group) {
    const double s = grid.s_px(i + 0.5 * (group - 1));
    const double centre = fill.centre_px(s);
    const double hidden = s > filled_from ? fill.radius_px(std::max(s, end)) + clear : 0.0;
    for (int j = 0; j + group <= grid.columns; j += group) {
      const double n = grid.n_px(j + 0.5 * (group - 1));
      if (std::fabs(n - axis) > aside_mm / mm || std::fabs(n - centre) < hidden) continue;
      double sum = 0.0;
      bool whole = true;
      for (int a = i; a < i + group && whole; ++a)
        for (int b = j; b < j + group; ++b) {
          whole = whole && mask.at<std::uint8_t>(a, b) != 0 && strip.usable.at<std::uint8_t>(a, b) != 0;
          sum += static_cast<double>(strip.value.at<float>(a, b));
        }
      if (whole) patches.push_back({s * mm, (n - axis) * mm, sum / (group * group), i});
    }
  }
  return patches;
}

/// Takes a level and a slope out of the values of each row.
void flatten(const std::vector<Patch>& patches, std::vector<double>& value) {
  std::vector<double> across, seen;
  for (std::size_t from = 0, to = 0; from < patches.size(); from = to) {
    across.clear();
    seen.clear();
    for (; to < patches.size() && patches[to].row == patches[from].row; ++to) {
      across.push_back(patches[to].n);
      seen.push_back(value[to]);
    }
    const FittedLine line = line_through(across, seen);
    for (std::size_t k = from; k < to; ++k) value[k] -= line.at(patches[k].n);
  }
}

/// The contours that leave least, from some first guesses by smaller and smaller steps. Their centre lies in the root,
/// coronal of a fill that ends short.
Contours find_contours(const std::vector<Patch>& patches, double end, double from, double to) {
  const double base = std::max(0.0, end);
  Contours best;
  double least = 1e300;
  const auto look_at = [&](const Contours& other) {
    const double left = Level(patches, other, from, to).left();
    if (left >= least) return false;
    least = left;
    best = other;
    return true;
  };
  for (const double away : std::array{0.6, 0.9, 1.3, 1.8, 2.6, 4.0})
    for (const double aspect : std::array{0.8, 1.1, 1.5, 2.0}) look_at({base + away, 0.0, aspect});
  for (double share = 1.0; share > 0.1; share *= 0.6) {
    bool moved = true;
    for (int turn = 0; turn < 2 && moved; ++turn) {
      moved = false;
      for (const double sign : std::array{-1.0, 1.0}) {
        const double more = 1.0 + sign * 0.25 * share;
        moved |= look_at({best.centre, best.aside + sign * 0.1 * share, best.aspect});
        moved |= look_at({best.centre, best.aside, best.aspect * (1.0 + sign * 0.2 * share)});
        moved |= look_at({base + (best.centre - base) * more, best.aside, best.aspect});
        // The curve at the fill's end stays as it is.
        moved |= look_at({base + (best.centre - base) * more, best.aside, best.aspect * std::sqrt(more)});
      }
    }
  }
  return best;
}

/// Share of what the contours change across the canal that the film shows, less what chance may; nought where it may
/// as well be chance.
double share_shown(const std::vector<Patch>& patches, const Contours& contours, const Level& level) {
  std::vector<double> seen, expected;
  for (const Patch& p : patches) {
    seen.push_back(p.value);
    expected.push_back(level.at(contours.on_axis(p.s, p.n)));
  }
  flatten(patches, seen);
  flatten(patches, expected);
  double both = 0.0, own = 0.0, all = 0.0;
  for (std::size_t k = 0; k < patches.size(); ++k) {
    both += seen[k] * expected[k];
    own += expected[k] * expected[k];
    all += seen[k] * seen[k];
  }
  if (own <= 0.0 || both <= 0.0) return 0.0;
  const double gain = both * both / own;
  const double variance = (all - gain) * patches_alike / static_cast<double>(patches.size());
  return std::min(1.0, both / own) * std::max(0.0, 1.0 - least_gain * freedom * variance / gain);
}

}  // namespace

cv::Mat without_end_contours(const Strip& strip, const cv::Mat& mask, const FillModel& fill, double mm) {
  const double end = fill.end_px * mm;
  const double among = std::clamp((far_mm - std::fabs(end)) / (far_mm - near_mm), 0.0, 1.0);
  if (among <= 0.0) return strip.value;
  std::vector<Patch> patches = look_about(strip, mask, fill, mm);
  if (patches.size() < least_patches) return strip.value;
  double mean = 0.0;
  for (const Patch& p : patches) mean += p.value / static_cast<double>(patches.size());
  for (Patch& p : patches) p.value -= mean;
  const double from = end - reach_mm - bent_mm, to = end + reach_mm;
  const Contours contours = find_contours(patches, end, from, to);
  const Level level(patches, contours, from, to);
  const double share = among * share_shown(patches, contours, level);
  if (share <= 0.0) return strip.value;

  const StripGrid& grid = strip.grid;
  const double axis = fill.centre_px(fill.end_px);
  cv::Mat value = strip.value.clone();
  const int first = std::max(0, static_cast<int>(std::ceil(grid.row_of((end - reach_mm) / mm))));
  const int last = std::min(grid.rows, static_cast<int>(grid.row_of((end + reach_mm) / mm)));
  for (int i = first; i < last; ++i) {
    const double s = grid.s_px(i) * mm;
    const double taken = share * std::clamp((reach_mm - std::fabs(s - end)) / fade_mm, 0.0, 1.0);
    const double on_axis = level.at(contours.on_axis(s, contours.aside));
    for (int j = 0; j < grid.columns; ++j) {
      const double n = (grid.n_px(j) - axis) * mm;
      if (std::fabs(n) <= aside_mm)
        value.at<float>(i, j) -= static_cast<float>(taken * (level.at(contours.on_axis(s, n)) - on_axis));
    }
  }
  return value;
}

}  // namespace canalrule
