#include "void_match.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

namespace {

/// The dome seen through a Gaussian of the given deviation: the second moment of a truncated normal distribution.
double blurred_dome(double away, double half, double deviation, double within) {
  const double low = (-half - away) / deviation, high = (half - away) / deviation;
  const auto density = [](double x) { return std::exp(-0.5 * x * x) / 2.50662827463; };
  const double second = (away * away + deviation * deviation) * within -
                        deviation * ((away + half) * density(high) - (away - half) * density(low));
  return within - second / (half * half);
}

}  // namespace

BlurredEdge::BlurredEdge(double blur_px, double halo_px) : blur_px_(blur_px), halo_px_(halo_px) {
  for (int k = -reach; k <= reach; ++k) table_.push_back(0.5 * std::erfc(-k / (256.0 * 1.41421356237)));
}

double BlurredEdge::step_at(double deviations) const {
  const double x = 256.0 * deviations + reach;
  if (x <= 0.0) return 0.0;
  if (x >= 2.0 * reach) return 1.0;
  const auto k = static_cast<std::size_t>(x);
  return table_[k] + (x - static_cast<double>(k)) * (table_[k + 1] - table_[k]);
}

double BlurredEdge::reach_px(double halo) const {
  return 4.0 * (halo == 0.0 ? blur_px_ : std::max(blur_px_, halo_px_));
}

double BlurredEdge::at(double distance_px, double halo) const {
  const double narrow = step_at(distance_px / blur_px_);
  return halo == 0.0 ? narrow : (1.0 + halo) * narrow - halo * step_at(distance_px / halo_px_);
}

double BlurredEdge::dome(double away_px, double half_px, double halo) const {
  const auto through = [&](double deviation) {
    const double within = step_at((away_px + half_px) / deviation) - step_at((away_px - half_px) / deviation);
    return blurred_dome(away_px, half_px, deviation, within);
  };
  return halo == 0.0 ? through(blur_px_) : (1.0 + halo) * through(blur_px_) - halo * through(halo_px_);
}

double Shade::shown(double w) const {
  if (deficit < 0.05 || depth < 0.01 || w <= 0.0) return w;
  const double filled = std::exp(-depth);
  const double gap = std::exp(-depth * (1.0 - deficit));
  return (1.0 + std::log(filled + (gap - filled) * w) / depth) / deficit;
}

std::size_t Rows::at(double s) const {
  const double row = std::ceil((s - first_px) / step_px);
  return static_cast<std::size_t>(std::clamp(row, 0.0, static_cast<double>(count)));
}

Box make_box(const Rows& rows, const BlurredEdge& edge, double halo, Along along, double from, double to,
             const Shade& shade) {
  Box box{from, to, rows.at(from - edge.reach_px(halo)), {}};
  const std::size_t end = rows.at(to + edge.reach_px(halo));
  for (std::size_t i = box.first; i < end; ++i) {
    const double s = rows.s_px(i);
    box.height.push_back(
        shade.shown(along == Along::alike ? edge.at(s - from, halo) - edge.at(s - to, halo)
                                          : edge.dome(s - 0.5 * (from + to), 0.5 * (to - from), halo)));
  }
  return box;
}

Match match(const VoidSeries& series, const Box& box) {
  Match m;
  double pull = 0.0, hold = 0.0;
  const std::size_t count = box.height.size();
  for (std::size_t k = 0; k < count; ++k) {
    const std::size_t i = box.first + k;
    pull += box.height[k] * series.pull[i];
    double beside = 0.5 * series.hold[i][0] * box.height[k];
    for (std::size_t l = 1; l < series.hold[i].size() && k + l < count; ++l)
      beside += series.hold[i][l] * box.height[k + l];
    hold += 2.0 * box.height[k] * beside;
  }
  if (hold <= 0.0) return m;
  m.amplitude = pull / hold;
  m.u_amplitude = 1.0 / std::sqrt(hold);
  m.z = m.amplitude / m.u_amplitude;
  return m;
}

namespace {

struct Plain {
  double pull = 0.0, hold = 0.0;
};

Plain plain_sums(const VoidSeries& series, const Box& box) {
  Plain sum;
  for (std::size_t k = 0; k < box.height.size(); ++k) {
    sum.pull += box.height[k] * series.plain_pull[box.first + k];
    sum.hold += box.height[k] * box.height[k] * series.plain_hold[box.first + k];
  }
  return sum;
}

}  // namespace

double plain_amplitude(const VoidSeries& series, const Box& box) {
  const Plain sum = plain_sums(series, box);
  return sum.hold > 0.0 ? sum.pull / sum.hold : 0.0;
}

double taken_up(const VoidSeries& series, const Box& box) {
  const Plain sum = plain_sums(series, box);
  if (sum.pull <= 0.0 || sum.hold <= 0.0) return 0.0;
  const double amplitude = std::min(1.0, sum.pull / sum.hold);
  return std::max(0.0, (2.0 * sum.pull - amplitude * sum.hold) * amplitude);
}

double plain_hold(const VoidSeries& series, const Box& box) { return plain_sums(series, box).hold; }

}  // namespace canalrule
