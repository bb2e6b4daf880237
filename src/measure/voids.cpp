#include "voids.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "void_match.hpp"
#include "void_patterns.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/voids.cpp holds them.
constexpr std::array<double, 10> lengths_mm{0.10, 0.15, 0.20, 0.30, 0.40, 0.55, 0.75, 1.0, 1.4, 2.0};
constexpr double tip_mm = 0.35;        ///< nearest to the fill's end that a void is looked for
constexpr double baseline_mm = 1.0;    ///< fill beside a void that it is compared with, on each side
constexpr double correlated_mm = 0.4;  ///< longest lag of correlated noise
constexpr double uneven = 0.015;       ///< share by which a flawless fill's density may differ
constexpr double least_score = 1.0;
constexpr int least_rows = 20;
// A complete gap at the root's end; tests/truth/around_the_end.cpp. What the root's surface alone makes of a fill that
// goes through it took under half of it on 137 films, or was shorter.
constexpr double complete_deficit = 0.7;
constexpr double complete_score = 5.0;
constexpr double complete_mm = 0.12;
constexpr double complete_beside_mm = 2.0;  ///< fill coronal of it by which it is judged
constexpr std::size_t most_voids = 12;
constexpr double least_length_mm = 0.04;
constexpr double softer_explains = 6.0;  ///< more, of the score squared, that a softer edge must
/// A bubble and a gap along a wall take most in their middle, about 1 - x^2 of it along their length: the box that
/// matches them best is sqrt(0.6) times as long. How they close isn't known better than to a tenth of their length.
constexpr double box_of_round = 0.775;
constexpr double round_known_to = 0.1;
constexpr double depth_known_to = 0.5;  ///< share of the fill's optical depth, not known of its material
constexpr std::array softness{1.0, 1.6, 2.5};  ///< of a gap's edge, times the film's blur
constexpr double spread_step_mm = 0.03;  ///< of ends that a void may as well have
constexpr double spread_reach_mm = 0.48;
constexpr double across_preference = 0.93;  ///< a gap across the canal explains as much: prefer it

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

/// Rows from `from` to `to` can't serve.
void take_out(std::vector<RowSeries>& series, double from, double to) {
  for (RowSeries& s : series)
    for (std::size_t i = 0; i < s.s_px.size(); ++i)
      if (s.s_px[i] > from && s.s_px[i] < to) {
        s.response[i] = 0.0;
        s.strength[i] = 0.0;
      }
}

/// Where voids are looked for.
struct Stretch {
  int first = 0, last = 0;       ///< rows that serve, [first, last)
  double low = 0.0, high = 0.0;  ///< of a void's middle, px
};

Stretch stretch_of(const StripGrid& grid, const FillFit& fit, double mm) {
  const double end = fit.model.end_px;
  return {std::clamp(static_cast<int>(grid.row_of(end + 0.15 / mm)) + 1, fit.first_row, fit.last_row), fit.last_row,
          end + std::min(fit.model.cap_px, 0.3 / mm) + tip_mm / mm, grid.s_px(fit.last_row - 1) - 0.1 / mm};
}

std::vector<RowSeries> series_of(const StripGrid& grid, const FillFit& fit, const Stretch& stretch, double mm) {
  const FlatRows missing(grid, missing_radiopacity(fit, grid), fit.part, stretch.first, stretch.last);
  const FlatRows by_radius(grid, fit.maps.by_radius, fit.part, stretch.first, stretch.last);
  std::vector<RowSeries> series;
  for (const Pattern& pattern : patterns)
    series.push_back(missing.series(draw_pattern(pattern, fit, grid), correlated_mm / mm,
                                    pattern.any_radius ? &by_radius : nullptr));
  return series;
}

/// The search along one fill.
class VoidSearch {
 public:
  VoidSearch(const FillFit& fit, std::vector<RowSeries> series, const Stretch& stretch, double step_px, double mm)
      : fit_(fit),
        mm_(mm),
        low_(stretch.low),
        high_(stretch.high),
        seen_{stretch.low - 0.2 / mm, stretch.high + 0.2 / mm},
        series_(std::move(series)),
        sums_(series_.begin(), series_.end()),
        rows_{series_[0].s_px.front(), step_px, series_[0].s_px.size()} {
    for (const double times : softness) softs_.emplace_back(times * fit.model.blur_px);
    look();
  }

  /// The strongest void that is left, which the next search leaves out.
  std::optional<VoidFound> next() {
    const auto top = std::max_element(looked_.begin(), looked_.end(), [](const Candidate& a, const Candidate& b) {
      return value_of(a) < value_of(b);
    });
    if (top == looked_.end() || value_of(*top) <= 0.0) return std::nullopt;
    Candidate best = *top;
    best.pattern = kind_at(best);
    const double z = score_of(best);
    const double z2 = z * z - penalty();
    if (z2 < least_score * least_score) return std::nullopt;
    VoidFound v = settled(best);
    v.score = std::sqrt(z2);
    return v;
  }

 private:
  static double preference(std::size_t pattern) {
    return patterns[pattern].kind == VoidKind::across ? 1.0 : across_preference;
  }
  static double value_of(const Candidate& c) {
    return c.found.amplitude > 0.0 ? c.found.z * preference(c.pattern) : 0.0;
  }
  double blur() const { return fit_.model.blur_px; }
  const BlurredEdge& edge() const { return softs_.front().edge; }
  Window about(double from, double to) const {
    const double aside = baseline_mm / mm_ + 2.0 * blur();
    return {from - aside, to + aside};
  }
  double penalty() const { return 2.0 * std::log(std::max(2.0, (high_ - low_) * mm_ / 0.1 * 3.0)); }

  /// Every place and size once.
  void look() {
    for (std::size_t l = 0; l < lengths_mm.size(); ++l) {
      const double half = 0.5 * lengths_mm[l] / mm_;
      for (std::size_t p = 0; p < patterns.size(); ++p)
        ratio_[p][l] = correlation_ratio(series_[p], edge(), 2.0 * half, baseline_mm / mm_);
      const double stride = std::max(0.03 / mm_, 0.24 * half);
      for (double middle = low_; middle <= high_; middle += stride) {
        if (middle - half < seen_.from || middle + half > seen_.to) continue;
        const Box box = make_box(rows_, edge(), blur(), middle - half, middle + half, {});
        for (std::size_t p = 0; p < patterns.size(); ++p)
          looked_.push_back({p, l, box.from, box.to, matched(p, l, box)});
      }
    }
  }
  Match matched(std::size_t pattern, std::size_t length, const Box& box) const {
    return match(series_[pattern], sums_[pattern], rows_, blur(), about(box.from, box.to), box,
                 uneven, ratio_[pattern][length]);
  }

  /// Of kinds that show at one place, the one that takes most out of what the fit left over.
  std::size_t kind_at(const Candidate& best) const {
    if (patterns[best.pattern].any_radius) return best.pattern;
    const Box box = make_box(rows_, edge(), blur(), best.from, best.to, {});
    const Window window = about(best.from, best.to);
    std::size_t kind = best.pattern;
    double most = 0.0;
    for (std::size_t p = 0; p < patterns.size(); ++p) {
      if (patterns[p].any_radius) continue;
      const Match as_white =
          match(series_[p], sums_[p], rows_, blur(), window, box, 0.0, 1.0);
      const double taken = preference(p) * series_[p].noise * std::sqrt(explained(as_white));
      if (taken <= most) continue;
      most = taken;
      kind = p;
    }
    return kind;
  }

  /// A series with its noise as the rows beside a void show it: the void itself isn't noise. But a bubble or a gap
  /// along a wall is as short as the texture's own patches.
  RowSeries beside(const Candidate& c) const {
    RowSeries others = series_[c.pattern];
    if (patterns[c.pattern].kind == VoidKind::across)
      measure_noise(others, rows_.step_px, correlated_mm / mm_, c.from - blur(), c.to + blur());
    return others;
  }

  double score_of(const Candidate& c) const {
    const RowSeries others = beside(c);
    const Window window = about(c.from, c.to);
    const Box box = make_box(rows_, edge(), blur(), c.from, c.to, {});
    const double ratio = correlation_ratio(others, edge(), c.to - c.from, baseline_mm / mm_);
    return match(others, sums_[c.pattern], rows_, blur(), window, box, uneven, ratio).z;
  }

  /// Ends, depth and softness together, and what is left out from now on.
  VoidFound settled(const Candidate& best) {
    const RowSeries others = beside(best);
    const Window window = about(best.from, best.to);
    const double ratio = correlation_ratio(others, edge(), best.to - best.from, baseline_mm / mm_);
    // The mean chord of a round fill, each weighted by its own square as a match does: 9 pi / 16 of the radius.
    const double depth = fit_.model.absorption * 1.7671 * fit_.model.radius_px(0.5 * (best.from + best.to));
    const auto matcher = [&](const SoftEdge& soft, double deficit) {
      return [&, deficit](double from, double to, double floor_share) {
        const Box box = make_box(rows_, soft.edge, soft.blur, from, to, {depth, deficit});
        return match(others, sums_[best.pattern], rows_, soft.blur, window, box, floor_share, ratio);
      };
    };
    // The gap's faces lie across the canal, which leans towards the film: each shows blurred by the film's blur
    // or more.
    Settled ends;
    Candidate start = best;
    start.found = matcher(softs_.front(), 0.0)(best.from, best.to, uneven);
    for (const SoftEdge& soft : softs_) {
      const Settled one =
          settle([&](double deficit) { return matcher(soft, deficit); }, start, &soft, mm_);
      if (ends.soft == nullptr || one.explains > ends.explains + softer_explains) ends = one;
    }
    const auto as_settled = matcher(*ends.soft, ends.deficit);
    const double deficit = std::clamp(as_settled(ends.from, ends.to, uneven).amplitude, 0.0, 1.0);
    const Spread spread = spread_about(as_settled, ends.from, ends.to, mm_);
    leave_out(ends);
    return described(best.pattern, ends, deficit, depth, spread);
  }

  void leave_out(const Settled& ends) {
    take_out(series_, ends.from - 2.5 * ends.soft->blur, ends.to + 2.5 * ends.soft->blur);
    sums_ = std::vector<Sums>(series_.begin(), series_.end());
    const Window near{ends.from - 2.0 * baseline_mm / mm_, ends.to + 2.0 * baseline_mm / mm_};
    for (Candidate& c : looked_)
      if (c.from < near.to && c.to > near.from)
        c.found = matched(c.pattern, c.length, make_box(rows_, edge(), blur(), c.from, c.to, {}));
  }

  VoidFound described(std::size_t which, const Settled& ends, double deficit, double depth,
                      const Spread& spread) const {
    const Pattern& pattern = patterns[which];
    const double middle = 0.5 * (ends.from + ends.to);
    const bool round = pattern.kind != VoidKind::across;
    const double shown = round ? box_of_round : 1.0;
    const double r = fit_.model.radius_px(middle);
    VoidFound v;
    v.kind = pattern.kind;
    v.from_px = middle + (ends.from - middle) / shown;
    v.to_px = middle + (ends.to - middle) / shown;
    v.soft_px = ends.soft->blur;
    v.offset_px = fit_.model.centre_px(middle) + pattern.place * r;
    v.width_px = pattern.width * 2.0 * r;
    v.u_width_px = (pattern.kind == VoidKind::across ? 0.1 : 0.35) * v.width_px;
    v.deficit = deficit;
    v.u_deficit = std::hypot(spread.deficit, uneven);
    // The depth, known to a share, moves both ends: by as much as the blurred edge's middle is off one half,
    // an eighth of the depth, over the edge's slope.
    const double off = 2.0 * depth_known_to * depth * deficit / 8.0 * 2.5066 * ends.soft->blur;
    const double shape = round ? round_known_to * (v.to_px - v.from_px) : 0.0;
    v.u_length_px = std::hypot(spread.length_px / shown, off, shape);
    return v;
  }

  const FillFit& fit_;
  double mm_, low_, high_;
  Window seen_;  ///< within which the search's boxes lie
  std::vector<RowSeries> series_;
  std::vector<Sums> sums_;
  Rows rows_;
  std::vector<SoftEdge> softs_;
  std::array<std::array<double, lengths_mm.size()>, patterns.size()> ratio_{};
  std::vector<Candidate> looked_;
};

}  // namespace

std::vector<VoidFound> find_voids(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                  const std::vector<std::pair<double, double>>& rows_out) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  const Stretch stretch = stretch_of(grid, fit, mm);
  std::vector<VoidFound> voids;
  if (stretch.last - stretch.first < least_rows) return voids;
  std::vector<RowSeries> series = series_of(grid, fit, stretch, mm);
  for (const auto& [from, to] : rows_out) take_out(series, from, to);
  VoidSearch search(fit, std::move(series), stretch, grid.step_px, mm);
  while (voids.size() < most_voids) {
    const std::optional<VoidFound> one = search.next();
    if (!one) break;
    voids.push_back(*one);
  }
  return voids;
}

std::optional<VoidFound> complete_gap(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                      double from_px, double to_px) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  Stretch stretch = stretch_of(grid, fit, mm);
  stretch.low = std::max(stretch.low, from_px);
  stretch.high = std::min(stretch.high, to_px);
  stretch.last =
      std::clamp(static_cast<int>(grid.row_of(to_px + complete_beside_mm / mm)), stretch.first, stretch.last);
  if (stretch.low >= stretch.high || stretch.last - stretch.first < least_rows) return std::nullopt;
  VoidSearch search(fit, series_of(grid, fit, stretch, mm), stretch, grid.step_px, mm);
  const std::optional<VoidFound> found = search.next();
  const bool complete = found && found->kind == VoidKind::across && found->score > complete_score &&
                        found->deficit > complete_deficit && (found->to_px - found->from_px) * mm > complete_mm;
  return complete ? found : std::nullopt;
}

}  // namespace canalrule
