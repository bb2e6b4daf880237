#include "voids.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "void_match.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/voids.cpp holds them.
constexpr std::array<double, 10> lengths_mm{0.10, 0.15, 0.20, 0.30, 0.40, 0.55, 0.75, 1.0, 1.4, 2.0};
constexpr double tip_mm = 0.35;        ///< nearest to the fill's end that a void is looked for
constexpr double baseline_mm = 1.0;    ///< fill beside a void that it is compared with, on each side
constexpr double correlated_mm = 0.4;  ///< longest lag of correlated noise
constexpr double uneven = 0.015;       ///< share by which a flawless fill's density may differ
constexpr double least_score = 1.0;
constexpr std::size_t most_voids = 12;
constexpr double least_length_mm = 0.04;
constexpr double softer_explains = 6.0;  ///< more, of the score squared, that a softer edge must
/// A bubble takes most in its middle, 1 - x^2 of it along its length: the box that matches it best is sqrt(0.6) times
/// as long.
constexpr double box_of_bubble = 0.775;
constexpr double depth_known_to = 0.5;  ///< share of the fill's optical depth, not known of its material
constexpr std::array softness{1.0, 1.6, 2.5};  ///< of a gap's edge, times the film's blur
constexpr double spread_step_mm = 0.03;  ///< of ends that a void may as well have
constexpr double spread_reach_mm = 0.48;
constexpr double across_preference = 0.93;  ///< a gap across the canal explains as much: prefer it

struct Pattern {
  VoidKind kind;
  double place;  ///< middle across the canal, in radii from the centre
  double width;  ///< across the canal, in diameters
  bool any_radius = false;  ///< blind to what another radius of the fill would show
};
constexpr std::array<Pattern, 6> patterns{{{VoidKind::across, 0.0, 1.0},
                                           {VoidKind::inside, 0.0, 0.35},
                                           {VoidKind::inside, 0.0, 0.65},
                                           {VoidKind::along_wall, -0.65, 0.33},
                                           {VoidKind::along_wall, 0.65, 0.33},
                                           {VoidKind::across, 0.0, 1.0, true}}};

/// What a deficit of 1 of a kind would take from the film, row by row.
cv::Mat draw_pattern(const Pattern& pattern, const FillFit& fit, const StripGrid& grid) {
  cv::Mat map = fit.maps.per_thickness.mul(fit.maps.blurred);
  if (pattern.kind == VoidKind::across) return map;
  const FillModel& model = fit.model;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double s = grid.s_px(i);
    const double r = std::max(1.0, model.radius_px(s));
    const double c = model.centre_px(s);
    double* out = map.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    const double* q = fit.maps.blurred.ptr<double>(i);
    const int middle = std::clamp(static_cast<int>(std::lround(grid.column_of(c))), 0, grid.columns - 1);
    for (int j = 0; j < grid.columns; ++j) {
      if (q[j] == 0.0) continue;  // beside the fill and its blur
      const double n = grid.n_px(j) - c;
      if (pattern.kind == VoidKind::inside) {
        // The shadow of a round bubble, blurred, is near a Gaussian of the same area and variance.
        const double rho = pattern.width * r;
        const double sd = std::sqrt(0.25 * rho * rho + model.blur_px * model.blur_px);
        const double peak = 1.5708 * rho / (2.5066 * sd);
        out[j] = slope[j] * q[middle] * std::min(1.0, peak) * std::exp(-0.5 * n * n / (sd * sd));
      } else {
        const double side = pattern.place > 0.0 ? n : -n;
        const double soft = std::max(0.15 * r, 0.6 * model.blur_px);
        out[j] *= 1.0 / (1.0 + std::exp(-(side - 0.35 * r) / soft));
      }
    }
  }
  return map;
}

/// Film less model, the film's curve undone: linear in missing thickness however strong the deficit is.
/// Positive where attenuation is missing.
cv::Mat missing_radiopacity(const FillFit& fit, const StripGrid& grid) {
  cv::Mat missing(fit.residual.size(), CV_64FC1, cv::Scalar(0));
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const FilmCurve curve = curve_at(fit.model, grid.s_px(i));
    const double* r = fit.residual.ptr<double>(i);
    const double* q = fit.maps.blurred.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    double* out = missing.ptr<double>(i);
    for (int j = 0; j < missing.cols; ++j)
      out[j] = -slope[j] * curve.thickness_change(std::exp(-curve.absorption * q[j]), slope[j], r[j]);
  }
  return missing;
}

struct Candidate {
  std::size_t pattern = 0, length = 0;
  double from = 0.0, to = 0.0;
  Match found;
};

/// What a gap explains when no more than all of the fill can be missing: its score squared, less what the amplitude
/// beyond 1 would have added.
double explained(const Match& m) {
  const double beyond = m.amplitude > 1.0 ? (m.amplitude - 1.0) / m.u_amplitude : 0.0;
  return m.amplitude > 0.0 ? m.z * m.z - beyond * beyond : 0.0;
}

/// Moves a gap's ends by steepest improvement of what it explains, in steps down to a two hundredth of a mm.
template <class Matched>
void settle_ends(const Matched& matched, double& from_px, double& to_px, double mm) {
  double now = explained(matched(from_px, to_px, 0.0));
  for (double d = 0.06 / mm; d > 0.004 / mm; d *= 0.5) {
    bool moved = true;
    for (int turn = 0; turn < 30 && moved; ++turn) {
      moved = false;
      for (const auto& [df, dt] : {std::pair{d, 0.0}, std::pair{-d, 0.0}, std::pair{0.0, d}, std::pair{0.0, -d},
                                   std::pair{-d, d}, std::pair{d, -d}}) {
        const double from = from_px + df;
        const double to = to_px + dt;
        if (to - from < least_length_mm / mm) continue;
        const double there = explained(matched(from, to, 0.0));
        if (there <= now + 1e-9) continue;
        from_px = from;
        to_px = to;
        now = there;
        moved = true;
      }
    }
  }
}

/// A gap's edge as it shows: softer than the film's blur where its faces are seen aslant.
struct SoftEdge {
  double blur = 1.0;  ///< px
  BlurredEdge edge;

  explicit SoftEdge(double blur_px) : blur(blur_px), edge(blur_px) {}
};

/// A candidate with its ends, its edges' softness and its depth settled.
struct Settled {
  const SoftEdge* soft = nullptr;
  double from = 0.0, to = 0.0;
  double deficit = 0.0;  ///< that shapes it
  double explains = 0.0;
};

/// A gap's depth shapes it, and its shape tells its depth: twice.
template <class MatcherOf>
Settled settle(const MatcherOf& matcher_of, const Candidate& candidate, const SoftEdge* soft, double mm) {
  Settled s{soft, candidate.from, candidate.to, std::clamp(candidate.found.amplitude, 0.0, 1.0), 0.0};
  for (int turn = 0; turn < 2; ++turn) {
    const auto matched = matcher_of(s.deficit);
    settle_ends(matched, s.from, s.to, mm);
    const Match m = matched(s.from, s.to, 0.0);
    s.explains = explained(m);
    if (turn == 0) s.deficit = std::clamp(m.amplitude, 0.0, 1.0);
  }
  return s;
}

/// Standard uncertainties of a gap's length and deficit.
struct Spread {
  double length_px = 0.0;
  double deficit = 0.0;
};

/// Over all ends near those found, each weighted by its likelihood: a short gap may as well be shallower and longer,
/// and a shallow one may end at one edge in the texture or the next.
template <class Matched>
Spread spread_about(const Matched& matched, double from_px, double to_px, double mm) {
  const double step = spread_step_mm / mm;
  const int reach = static_cast<int>(spread_reach_mm / spread_step_mm);
  const double top = explained(matched(from_px, to_px, 0.0));
  double total = 0.0, length = 0.0, length2 = 0.0, deficit = 0.0, deficit2 = 0.0;
  for (int i = -reach; i <= reach; ++i)
    for (int k = -reach; k <= reach; ++k) {
      const double from = from_px + i * step;
      const double to = to_px + k * step;
      if (to - from < least_length_mm / mm) continue;
      const Match m = matched(from, to, 0.0);
      const double w = std::exp(0.5 * (explained(m) - top));
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

void take_out(std::vector<RowSeries>& series, const Candidate& c, double guard) {
  for (RowSeries& s : series)
    for (std::size_t i = 0; i < s.s_px.size(); ++i)
      if (s.s_px[i] > c.from - guard && s.s_px[i] < c.to + guard) {
        s.response[i] = 0.0;
        s.strength[i] = 0.0;
      }
}

}  // namespace

std::vector<VoidFound> find_voids(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                  const std::vector<std::pair<double, double>>& rows_out) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  const double blur = fit.model.blur_px;
  std::vector<VoidFound> voids;
  const double low = fit.model.end_px + std::min(fit.model.cap_px, 0.3 / mm) + tip_mm / mm;
  const int first = std::clamp(static_cast<int>(grid.row_of(fit.model.end_px + 0.15 / mm)) + 1, fit.first_row,
                               fit.last_row);
  if (fit.last_row - first < 20) return voids;
  const double high = grid.s_px(fit.last_row - 1) - 0.1 / mm;

  const cv::Mat missing = missing_radiopacity(fit, grid);
  std::vector<RowSeries> series;
  for (const Pattern& pattern : patterns) {
    series.push_back(row_series(grid, missing, draw_pattern(pattern, fit, grid), fit.part, first,
                                fit.last_row, correlated_mm / mm,
                                pattern.any_radius ? fit.maps.by_radius : cv::Mat()));
    for (const auto& [from, to] : rows_out)
      for (std::size_t i = 0; i < series.back().s_px.size(); ++i)
        if (series.back().s_px[i] >= from && series.back().s_px[i] <= to) {
          series.back().response[i] = 0.0;
          series.back().strength[i] = 0.0;
        }
  }
  const double looks = std::max(2.0, (high - low) * mm / 0.1 * 3.0);
  const double penalty = 2.0 * std::log(looks);
  const double step = 0.03 / mm;
  const double baseline = baseline_mm / mm;

  const Rows rows{series[0].s_px.front(), grid.step_px, series[0].s_px.size()};
  const auto about = [&](double from, double to) {
    const double aside = baseline + 2.0 * blur;
    return Window{from - aside, to + aside};
  };
  std::vector<SoftEdge> softs;
  for (const double times : softness) softs.emplace_back(times * blur);
  const BlurredEdge& edge = softs.front().edge;
  std::vector<Sums> sums(series.begin(), series.end());

  // Every place and size once; after a find, again where it lies in the way.
  std::vector<Candidate> looked;
  std::vector<std::array<double, lengths_mm.size()>> ratio(patterns.size());
  for (std::size_t l = 0; l < lengths_mm.size(); ++l) {
    const double length = lengths_mm[l] / mm;
    for (std::size_t p = 0; p < patterns.size(); ++p)
      ratio[p][l] = correlation_ratio(series[p], edge, length, baseline);
    const double stride = std::max(step, 0.12 * length);
    for (double middle = low; middle <= high; middle += stride) {
      const double from = middle - 0.5 * length;
      const double to = middle + 0.5 * length;
      if (from < low - 0.2 / mm || to > high + 0.2 / mm) continue;
      const Box box = make_box(rows, edge, blur, from, to, {});
      for (std::size_t p = 0; p < patterns.size(); ++p)
        looked.push_back({p, l, from, to,
                          match(series[p], sums[p], rows, blur, about(from, to), box, uneven, ratio[p][l])});
    }
  }

  while (voids.size() < most_voids) {
    const auto value_of = [&](const Candidate& c) {
      return c.found.amplitude > 0.0
                 ? c.found.z * (patterns[c.pattern].kind == VoidKind::across ? 1.0 : across_preference)
                 : 0.0;
    };
    const auto top =
        std::max_element(looked.begin(), looked.end(),
                         [&](const Candidate& a, const Candidate& b) { return value_of(a) < value_of(b); });
    if (top == looked.end() || value_of(*top) <= 0.0) break;
    Candidate best = *top;
    const Window window = about(best.from, best.to);
    const Box sharp = make_box(rows, edge, blur, best.from, best.to, {});
    // Of kinds that show at one place, the one that takes most out of what the fit left over.
    const auto matched_as = [&](const RowSeries& noise, std::size_t pattern, double spread, double floor_share) {
      return match(noise, sums[pattern], rows, blur, window, sharp, floor_share, spread);
    };
    double most = 0.0;
    for (std::size_t p = 0; p < patterns.size(); ++p) {
      if (patterns[best.pattern].any_radius || patterns[p].any_radius) continue;
      const double preferred = patterns[p].kind == VoidKind::across ? 1.0 : across_preference;
      const Match as_white = matched_as(series[p], p, 1.0, 0.0);
      const double taken = preferred * series[p].noise * std::sqrt(explained(as_white));
      if (taken <= most) continue;
      most = taken;
      best.pattern = p;
    }
    // The void itself isn't noise. But a bubble or a gap along a wall is as short as the texture's own patches.
    RowSeries others = series[best.pattern];
    if (patterns[best.pattern].kind == VoidKind::across)
      measure_noise(others, grid.step_px, correlated_mm / mm, best.from - blur, best.to + blur);
    const double spread = correlation_ratio(others, edge, best.to - best.from, baseline);
    best.found = matched_as(others, best.pattern, spread, uneven);
    const double z = best.found.z;
    const double z2 = z * z - penalty;
    if (z2 < least_score * least_score) break;

    Candidate fine = best;
    // The mean chord of a round fill, each weighted by its own square as a match does: 9 pi / 16 of the radius.
    const double depth = fit.model.absorption * 1.7671 * fit.model.radius_px(0.5 * (best.from + best.to));
    const auto matcher = [&](const SoftEdge& soft, double deficit) {
      return [&, deficit](double from, double to, double floor_share) {
        const Box box = make_box(rows, soft.edge, soft.blur, from, to, {depth, deficit});
        return match(others, sums[best.pattern], rows, soft.blur, window, box, floor_share, spread);
      };
    };
    // The gap's faces lie across the canal, which leans towards the film: each shows blurred by the film's blur
    // or more.
    Settled settled;
    for (const SoftEdge& soft : softs) {
      const Settled one = settle(
          [&](double deficit) { return matcher(soft, deficit); }, best, &soft, mm);
      if (settled.soft == nullptr || one.explains > settled.explains + softer_explains) settled = one;
    }
    fine.from = settled.from;
    fine.to = settled.to;
    const auto matched = matcher(*settled.soft, settled.deficit);
    fine.found = matched(fine.from, fine.to, uneven);
    const Spread around = spread_about(matched, fine.from, fine.to, mm);

    VoidFound v;
    v.from_px = fine.from;
    v.to_px = fine.to;
    v.deficit = std::clamp(fine.found.amplitude, 0.0, 1.0);
    v.u_deficit = std::hypot(around.deficit, uneven);
    v.score = std::sqrt(std::max(0.0, z2));
    v.soft_px = settled.soft->blur;
    const Pattern& pattern = patterns[fine.pattern];
    v.kind = pattern.kind;
    if (pattern.kind == VoidKind::inside) {
      const double middle = 0.5 * (v.from_px + v.to_px);
      v.from_px = middle + (v.from_px - middle) / box_of_bubble;
      v.to_px = middle + (v.to_px - middle) / box_of_bubble;
    }
    const double s = 0.5 * (fine.from + fine.to);
    const double r = fit.model.radius_px(s);
    v.offset_px = fit.model.centre_px(s) + pattern.place * r;
    v.width_px = pattern.width * 2.0 * r;
    v.u_width_px = (pattern.kind == VoidKind::across ? 0.1 : 0.35) * v.width_px;
    // The depth, known to a share, moves both ends: by as much as the blurred edge's middle is off one half,
    // an eighth of the depth, over the edge's slope.
    const double off = 2.0 * depth_known_to * depth * v.deficit / 8.0 * 2.5066 * settled.soft->blur;
    v.u_length_px = std::hypot(around.length_px, off);
    voids.push_back(v);
    take_out(series, fine, 2.5 * settled.soft->blur);
    sums = std::vector<Sums>(series.begin(), series.end());
    for (Candidate& c : looked)
      if (c.from < fine.to + 2.0 * baseline && c.to > fine.from - 2.0 * baseline)
        c.found = match(series[c.pattern], sums[c.pattern], rows, blur, about(c.from, c.to),
                        make_box(rows, edge, blur, c.from, c.to, {}), uneven, ratio[c.pattern][c.length]);
  }
  return voids;
}

}  // namespace canalrule
