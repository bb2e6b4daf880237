#include "voids.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "fill_bins.hpp"
#include "halo.hpp"
#include "texture.hpp"
#include "void_ends.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/voids.cpp holds them.
constexpr std::array<double, 10> lengths_mm{0.10, 0.15, 0.20, 0.30, 0.40, 0.55, 0.75, 1.0, 1.4, 2.0};
constexpr double tip_mm = 0.35;    ///< nearest to the fill's end that a void is looked for
constexpr double side_mm = 0.15;   ///< fill that must be seen coronal of a void
constexpr double about_mm = 0.3;   ///< fill about a void that tells how unruly the film is there
constexpr double gradual_share = 0.1;  ///< of a void's length: deviation of its edges where it begins gradually
constexpr double least_seen = 0.8; ///< share of a void that must be seen
constexpr double longest_mm = 2.4; ///< void that is looked for
constexpr double scan_mm = 0.04;   ///< between places of its other end
constexpr double farther_explains = 30.0;  ///< more, of the score squared, that another end must
constexpr double least_score = 1.0;  ///< of a void that is told: 8 of 100 flawless usual fills have one of this or more
constexpr double least_sure = 1.4;  ///< deviations by which its deficit must be more than none
constexpr double least_plain = 0.15;  ///< of its likeliest depth: less, where the film by itself shows next to nothing
constexpr double plain_explains = 16.0;  ///< more, of the score squared, that such a void must: four deviations
/// What a void's true shape leaves beside it when it is taken out: a share of its own score, less and less over so many
/// mm. Of 60 clean films with a complete gap four had a second void for that, of scores 2 to 13.
constexpr double remains_share = 0.2, remains_mm = 0.6;
constexpr int least_rows = 20;
constexpr double complete_deficit = 0.7;  ///< of a gap that is one all along
// A gap that parts the fill at the root's end; tests/truth/around_the_end.cpp. What the root's surface alone makes of a
// fill that goes through it took under a third of it at scores under 2.2 on 250 clean and usual films.
constexpr double parting_deficit = 0.5;
constexpr double parting_score = 3.0;
constexpr double parting_mm = 0.12;
constexpr double parting_beside_mm = 2.0;  ///< fill coronal of it by which it is judged
constexpr std::size_t most_voids = 12;  ///< that are looked at
constexpr double softer_explains = 6.0, softer_share = 0.02;  ///< by which a softer edge must explain more
/// A bubble and a gap along a wall take most in their middle, about 1 - x^2 of it along their length: a void that is
/// alike along its length and resembles them is sqrt(0.6) times as long. How they close isn't known better than to a
/// share of their length.
constexpr double alike_of_domed = 0.775;
constexpr double round_known_to = 0.07;
constexpr double least_beside_mm = 0.5;  ///< of fill seen beside a gap, without which its end there isn't known
/// Of a weak void a piece may be found: deviation of its length up to this score, falling by its fourth power above. Of
/// 45 voids of scores 2 to 4 on 540 simulated films four were less than half as long as they are, RMS of all 0.28 mm.
constexpr double weak_length_mm = 0.3, weak_score = 4.0;
constexpr double depth_known_to = 0.5;  ///< share of the fill's optical depth, not known of its material
/// Shares of a likeliest deficit that a round void's true shape may change, and those of a gap across the canal.
constexpr double shape_known_to = 0.1, across_known_to = 0.055;
/// Of a dome's middle: at the wall a gap takes alike along most of its length.
constexpr double deficit_at_wall = 0.88;
constexpr double halo_known_to = 0.10;  ///< share of what sharpening puts on a void, along and across not parted
constexpr double plain_times = 3.0;     ///< by which a plain deficit is less sure
constexpr std::array softness{1.0, 1.6, 2.5, 4.0};  ///< of a gap's edge, times the film's blur
constexpr double other_explains = 4.0;  ///< more, in variances of noise, that another kind must: two deviations
constexpr double across_preference = 0.93;  ///< a gap across the canal explains as much: prefer it

constexpr std::size_t whole_width = 0;  ///< the pattern of a gap across the canal

/// A gap's edge as it shows: softer than the film's blur where its faces are seen aslant.
struct SoftEdge {
  double blur = 1.0;  ///< px
  BlurredEdge edge;

  SoftEdge(const FillModel& model, double times)
      : blur(times * model.blur_px),
        edge(blur, std::sqrt(model.halo_px * model.halo_px + blur * blur - model.blur_px * model.blur_px)) {}
};

Along along_of(std::size_t pattern) {
  return patterns[pattern].kind == VoidKind::across ? Along::alike : Along::domed;
}

struct Candidate {
  std::size_t pattern = 0;
  const SoftEdge* soft = nullptr;
  Ends at;
  Match found;
};

/// A candidate with its ends, its edges' softness and its depth settled.
struct Settled {
  const SoftEdge* soft = nullptr;
  Ends at;
  double deficit = 0.0;  ///< that shapes it
  double explains = 0.0;
};

/// A gap's depth shapes it, and its shape tells its depth: twice.
template <class MatcherOf>
Settled settle(const MatcherOf& matcher_of, const Candidate& candidate, const SoftEdge* soft, double mm) {
  Settled s{soft, candidate.at, std::clamp(candidate.found.amplitude, 0.0, 1.0), 0.0};
  for (int turn = 0; turn < 2; ++turn) {
    const Matched matched = matcher_of(s.deficit);
    s.at = settle_ends(matched, s.at, mm);
    const Match m = matched(s.at.from, s.at.to);
    s.explains = explained(m);
    if (turn == 0) s.deficit = std::clamp(m.amplitude, 0.0, 1.0);
  }
  return s;
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

/// The search along one fill.
class VoidSearch {
 public:
  VoidSearch(const Strip& strip, const FillFit& fit, const Stretch& stretch, const Stretches& rows_out, double mm)
      : VoidSearch(fit, bin_fill(strip, fit, stretch.first, stretch.last, mm, rows_out), stretch, rows_out, mm) {}

  VoidSearch(const FillFit& fit, const FillBins& bins, const Stretch& stretch, const Stretches& hidden, double mm)
      : fit_(fit),
        hidden_(hidden),
        mm_(mm),
        low_(stretch.low),
        high_(stretch.high),
        evidence_(bins, find_texture(bins, fit.model.blur_px * mm)),
        rows_{bins.rows.front().s_px, bins.row_mm / mm, bins.rows.size()} {
    for (const double times : softness) softs_.emplace_back(fit.model, times);
    for (const BinRow& row : bins.rows) halos_.push_back(halo_along(fit.model, row.s_px));
    look();
  }

  /// The strongest void that is left, which the next search leaves out; with a score of nought where it is none.
  std::optional<VoidFound> next() {
    const auto top = std::max_element(looked_.begin(), looked_.end(), [](const Candidate& a, const Candidate& b) {
      return value_of(a) < value_of(b);
    });
    if (top == looked_.end() || value_of(*top) <= 0.0) return std::nullopt;
    const double z2 = top->found.z * top->found.z;
    if (z2 < penalty() + least_score * least_score) return std::nullopt;
    const Candidate likeliest = of_likeliest_kind(with_settled_ends(*top));
    const double plainly = shows_plainly(likeliest) ? 0.0 : plain_explains;
    VoidFound v = settled(likeliest);
    // What is left where it was taken out tells whether there was a void at all; none lies past the fill's own ends.
    const double near = about_mm / mm_;
    const double unruly = evidence_.unruly(rows_.at(v.from_px - near), rows_.at(v.to_px + near));
    const double remains = remains_of_stronger(v);
    const bool outside = v.from_px < fit_.model.end_px || v.to_px + side_mm / mm_ > rows_.s_px(rows_.count - 1);
    const bool none = v.deficit < least_sure * v.u_deficit || outside;
    v.score = none ? 0.0 : std::sqrt(std::max(0.0, z2 / unruly - penalty() - plainly - remains));
    stronger_.push_back({v.from_px, v.to_px, z2});
    const double surer = std::max(1.0, v.score / weak_score);
    v.u_length_px = std::hypot(v.u_length_px, weak_length_mm / mm_ / (surer * surer * surer * surer));
    return v;
  }

 private:
  static double preference(std::size_t pattern) {
    return patterns[pattern].kind == VoidKind::across ? 1.0 : across_preference;
  }
  static double value_of(const Candidate& c) {
    return c.found.amplitude > 0.0 ? c.found.z * preference(c.pattern) : 0.0;
  }
  double halo_at(double s) const { return halos_[std::min(rows_.at(s), halos_.size() - 1)]; }
  Box box_at(Along along, const SoftEdge& soft, double from, double to, const Shade& shade) const {
    return make_box(rows_, soft.edge, halo_at(0.5 * (from + to)), along, from, to, shade);
  }
  Box shallow(Along along, const SoftEdge& soft, double from, double to) const {
    return box_at(along, soft, from, to, {});
  }
  double penalty() const { return 2.0 * std::log(std::max(2.0, (high_ - low_) * mm_ / 0.1 * 3.0)); }

  bool shows_plainly(const Candidate& c) const {
    const Box box = shallow(along_of(c.pattern), *c.soft, c.at.from, c.at.to);
    return plain_amplitude(evidence_.of(c.pattern), box) > least_plain * c.found.amplitude;
  }

  /// What a stronger void near it may have left there, square of the score.
  double remains_of_stronger(const VoidFound& v) const {
    double most = 0.0;
    for (const Stronger& one : stronger_) {
      const double apart = std::max({0.0, one.from_px - v.to_px, v.from_px - one.to_px}) * mm_;
      const double share = remains_share * std::max(0.0, 1.0 - apart / remains_mm);
      most = std::max(most, share * share * one.z2);
    }
    return most;
  }

  /// A candidate with its ends settled. One end of a long void may show as a short one: each end is looked for again as
  /// far from the other as a void may reach.
  Candidate with_settled_ends(Candidate best) const {
    const auto matcher = [&](std::size_t pattern) {
      return [&, pattern](double from, double to) {
        return match(evidence_.of(pattern), shallow(along_of(pattern), *best.soft, from, to));
      };
    };
    best.at = settle_ends(matcher(best.pattern), best.at, mm_);
    // At the edge of a complete gap a part of the width may explain most; over its length the whole does.
    for (const std::size_t pattern : {best.pattern, whole_width}) {
      const auto matched = matcher(pattern);
      Candidate other = best;
      other.pattern = pattern;
      double most = 0.0;
      const auto look_at = [&](double from, double to) {
        const double explains = from >= low_ && to <= high_ ? explained(matched(from, to)) : 0.0;
        if (explains <= most) return;
        most = explains;
        other.at.from = from;
        other.at.to = to;
      };
      for (double length = least_void_mm; length <= longest_mm; length += scan_mm) {
        look_at(best.at.from, best.at.from + length / mm_);
        look_at(best.at.to - length / mm_, best.at.to);
      }
      other.at = settle_ends(matched, other.at, mm_);
      const double now = explained(matcher(best.pattern)(best.at.from, best.at.to));
      // Where nearly all is missing all along, its edges alone may explain as much: they are sharper than the model.
      const Box whole = shallow(along_of(pattern), *best.soft, other.at.from, other.at.to);
      const bool complete = pattern == whole_width && other.at.to - other.at.from > best.at.to - best.at.from &&
                            plain_amplitude(evidence_.of(pattern), whole) > complete_deficit;
      if (complete || explained(matched(other.at.from, other.at.to)) > now + farther_explains) best = other;
    }
    best.found = matcher(best.pattern)(best.at.from, best.at.to);
    return best;
  }

  /// Of the kinds that a candidate may be that which takes most, each with the ends that resemble those found.
  Candidate of_likeliest_kind(const Candidate& best) const {
    const auto as_kind = [&](std::size_t pattern) {
      Candidate other = best;
      other.pattern = pattern;
      const double longer = along_of(pattern) == along_of(best.pattern) ? 1.0
                            : along_of(pattern) == Along::domed         ? 1.0 / alike_of_domed
                                                                        : alike_of_domed;
      const double middle = 0.5 * (best.at.from + best.at.to);
      other.at.from = middle + (best.at.from - middle) * longer;
      other.at.to = middle + (best.at.to - middle) * longer;
      return other;
    };
    const auto box_of = [&](const Candidate& c) { return shallow(along_of(c.pattern), *c.soft, c.at.from, c.at.to); };
    const Box whole = box_of(as_kind(whole_width));
    const double u = match(evidence_.of(whole_width), whole).u_amplitude;
    const double extra = other_explains * u * u * plain_hold(evidence_.of(whole_width), whole);
    double taken = 0.0;
    Candidate likeliest = best;
    for (std::size_t p = 0; p < patterns.size(); ++p) {
      const Candidate other = as_kind(p);
      const double here =
          taken_up(evidence_.of(p), box_of(other)) - (patterns[p].kind == VoidKind::across ? 0.0 : extra);
      if (here <= taken) continue;
      taken = here;
      likeliest = other;
    }
    if (likeliest.pattern == best.pattern) return best;
    likeliest.found = match(evidence_.of(likeliest.pattern), box_of(likeliest));
    return likeliest;
  }

  /// Every place and size once.
  void look() {
    const double lowest = low_ - 0.2 / mm_, highest = high_ + 0.2 / mm_;
    for (const double length : lengths_mm) {
      const double half = 0.5 * length / mm_;
      const double stride = std::max(0.03 / mm_, 0.24 * half);
      const SoftEdge* gradual = &softs_.front();
      for (const SoftEdge& soft : softs_)
        if (soft.blur <= std::hypot(fit_.model.blur_px, gradual_share * length / mm_)) gradual = &soft;
      for (double middle = low_; middle <= high_; middle += stride) {
        if (middle - half < lowest || middle + half > highest) continue;
        const Box alike = shallow(Along::alike, softs_.front(), middle - half, middle + half);
        if (!served(alike)) continue;
        const double reach = half / alike_of_domed;
        const Box domed = shallow(Along::domed, softs_.front(), middle - reach, middle + reach);
        const auto look_at = [&](std::size_t p, const SoftEdge& soft, const Box& box) {
          looked_.push_back({p, &soft, {box.from, box.to}, match(evidence_.of(p), box)});
        };
        for (std::size_t p = 0; p < patterns.size(); ++p)
          look_at(p, softs_.front(), along_of(p) == Along::alike ? alike : domed);
        if (gradual != &softs_.front())
          look_at(whole_width, *gradual, shallow(Along::alike, *gradual, alike.from, alike.to));
      }
    }
  }

  bool served(const Box& box) const {
    double all = 0.0, serving = 0.0;
    for (std::size_t k = 0; k < box.height.size(); ++k) {
      all += box.height[k];
      if (evidence_.serves(box.first + k)) serving += box.height[k];
    }
    if (all <= 0.0 || serving < least_seen * all) return false;
    // Where the fill leaves the root its surroundings change: what borders on that tells nothing.
    for (std::size_t i = rows_.at(box.to); i < rows_.at(box.to + side_mm / mm_); ++i)
      if (!evidence_.serves(i)) return false;
    return true;
  }

  /// Ends, depth and softness together, and what is left out from now on.
  VoidFound settled(const Candidate& best) {
    // The mean chord of a round fill, each weighted by its own square as a match does: 9 pi / 16 of the radius.
    const double depth = fit_.model.absorption * 1.7671 * fit_.model.radius_px(0.5 * (best.at.from + best.at.to));
    const auto matcher = [&](const SoftEdge& soft, double deficit) {
      return [&, deficit](double from, double to) {
        return match(evidence_.of(best.pattern), box_at(along_of(best.pattern), soft, from, to,
                                                          {depth, deficit}));
      };
    };
    // The gap's faces lie across the canal, which leans towards the film: each shows blurred by the film's blur
    // or more.
    Settled ends;
    for (const SoftEdge& soft : softs_) {
      if (&soft != &softs_.front() && along_of(best.pattern) == Along::domed) continue;
      const Settled one = settle([&](double deficit) { return matcher(soft, deficit); }, best, &soft, mm_);
      if (ends.soft == nullptr || one.explains > (1.0 + softer_share) * ends.explains + softer_explains)
        ends = one;
    }
    const Matched as_settled = matcher(*ends.soft, ends.deficit);
    Box box = box_at(along_of(best.pattern), *ends.soft, ends.at.from, ends.at.to, {depth, ends.deficit});
    const double deficit = deficit_of(best.pattern, as_settled(ends.at.from, ends.at.to), box);
    const Spread spread = spread_about(as_settled, ends.at, mm_);
    for (double& h : box.height) h *= deficit;
    leave_out(best.pattern, ends, box);
    return described(best.pattern, ends, deficit, depth, spread);
  }

  /// The likeliest deficit holds for the pattern's own shape, a plain one for any: the surer a void is, the more does
  /// the second.
  double deficit_of(std::size_t pattern, const Match& likeliest, const Box& box) const {
    const double a = std::hypot(likeliest.u_amplitude, shape_known_to * likeliest.amplitude);
    const double b = plain_times * likeliest.u_amplitude;
    const double plain = plain_amplitude(evidence_.of(pattern), box);
    return std::clamp((likeliest.amplitude / (a * a) + plain / (b * b)) / (1.0 / (a * a) + 1.0 / (b * b)), 0.0, 1.0);
  }

  /// Takes a void out of the film, and its place out of the search.
  void leave_out(std::size_t pattern, const Settled& ends, const Box& missing) {
    evidence_.take_out(pattern, missing.first, missing.height);
    const double clear = 2.5 * ends.soft->blur;
    const auto meets = [&](const Candidate& c, double near) {
      return c.at.from < ends.at.to + near && c.at.to > ends.at.from - near;
    };
    std::erase_if(looked_, [&](const Candidate& c) { return meets(c, clear); });
    for (Candidate& c : looked_)
      if (meets(c, 2.0 * clear))
        c.found = match(evidence_.of(c.pattern), shallow(along_of(c.pattern), *c.soft, c.at.from, c.at.to));
  }

  VoidFound described(std::size_t which, const Settled& ends, double deficit, double depth,
                      const Spread& spread) const {
    const Pattern& pattern = patterns[which];
    const double middle = 0.5 * (ends.at.from + ends.at.to);
    const bool round = pattern.kind != VoidKind::across;
    const double r = fit_.model.radius_px(middle);
    VoidFound v;
    v.kind = pattern.kind;
    v.from_px = ends.at.from;
    v.to_px = ends.at.to;
    v.soft_px = ends.soft->blur;
    v.offset_px = fit_.model.centre_px(middle) + pattern.place * r;
    v.width_px = pattern.width * 2.0 * r;
    v.u_width_px = (pattern.kind == VoidKind::across ? 0.1 : 0.35) * v.width_px;
    v.deficit = pattern.kind == VoidKind::along_wall ? deficit_at_wall * deficit : deficit;
    v.u_deficit = std::hypot(spread.deficit, (round ? shape_known_to : across_known_to) * deficit,
                             halo_known_to * halo_at(middle) * deficit);
    // The depth, known to a share, moves both ends: by as much as the blurred edge's middle is off one half,
    // an eighth of the depth, over the edge's slope.
    const double off = 2.0 * depth_known_to * depth * deficit / 8.0 * 2.5066 * ends.soft->blur;
    const double shape = round ? round_known_to * (v.to_px - v.from_px) : 0.0;
    v.u_length_px = std::hypot(std::hypot(spread.length_px, off, shape), unseen_beside(ends));
    return v;
  }

  /// A gap that goes on where the fill can't be judged may end anywhere there (JCGM 100:2008, 4.3.7).
  double unseen_beside(const Settled& ends) const {
    const double near = least_beside_mm / mm_;
    double longest = 0.0;
    for (const auto& [from, to] : hidden_)
      if (from < ends.at.to + near && to > ends.at.from - near) longest = std::max(longest, to - from);
    return std::min(longest, lengths_mm.back() / mm_) / std::numbers::sqrt3;
  }

  struct Stronger {
    double from_px, to_px, z2;
  };

  const FillFit& fit_;
  Stretches hidden_;  ///< that can't be judged
  double mm_, low_, high_;
  VoidEvidence evidence_;
  Rows rows_;
  std::vector<SoftEdge> softs_;
  std::vector<double> halos_;  ///< of each row
  std::vector<Candidate> looked_;
  std::vector<Stronger> stronger_;  ///< that were taken out
};

}  // namespace

std::vector<VoidFound> find_voids(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                  const std::vector<std::pair<double, double>>& rows_out) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  const Stretch stretch = stretch_of(grid, fit, mm);
  std::vector<VoidFound> voids;
  if (stretch.last - stretch.first < least_rows) return voids;
  VoidSearch search(followed.strip, fit, stretch, rows_out, mm);
  for (std::size_t looked = 0; looked < most_voids; ++looked) {
    const std::optional<VoidFound> one = search.next();
    if (!one) break;
    if (one->score >= least_score) voids.push_back(*one);
  }
  return voids;
}

std::optional<VoidFound> parting_gap(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                     double from_px, double to_px) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  Stretch stretch = stretch_of(grid, fit, mm);
  stretch.low = std::max(stretch.low, from_px);
  stretch.high = std::min(stretch.high, to_px);
  stretch.last =
      std::clamp(static_cast<int>(grid.row_of(to_px + parting_beside_mm / mm)), stretch.first, stretch.last);
  if (stretch.low >= stretch.high || stretch.last - stretch.first < least_rows) return std::nullopt;
  const std::optional<VoidFound> found = VoidSearch(followed.strip, fit, stretch, {}, mm).next();
  const bool parts = found && found->kind == VoidKind::across && found->score > parting_score &&
                     found->deficit > parting_deficit && (found->to_px - found->from_px) * mm > parting_mm;
  return parts ? found : std::nullopt;
}

}  // namespace canalrule
