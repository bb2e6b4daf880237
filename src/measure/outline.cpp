#include "outline.hpp"

#include <algorithm>
#include <cmath>

#include "notches.hpp"

namespace canalrule {

namespace {

// Chosen here; tests/truth/voids.cpp and tests/truth/notches.cpp.
constexpr double least_step_mm = 0.05;  ///< a step of the width that can pass for a void
constexpr double step_shows_mm = 0.5;   ///< length up to which a step can pass for a void ...
constexpr double taper_known_to = 0.04; ///< ... and how much a mm of more the width beyond it may differ without one
constexpr double step_takes = 1.5;      ///< times the section that a step takes, that it can pass for
constexpr double void_guard_mm = 0.08;    ///< left out beside a void when widths are fitted
/// A gap too long to be bridged: share of the radius to both sides, length, and what of the slope to each of its ends
/// is left out with it. tests/truth/voids.cpp.
constexpr double sunk_share = 0.5, least_sunk_mm = 1.0, sunk_guard_mm = 0.5, sunk_step_mm = 0.1;
constexpr double past_crown_mm = 0.3;     ///< coronal of a fill's end, where none of it is missing
constexpr double least_void_score = 4.0;  ///< voids surer than this are left out of widths

/// Whether every one of the stretches lies within one of the others, or sticks out of it by less than `slack_px`.
bool covered(const Stretches& stretches, const Stretches& by, double slack_px) {
  return std::all_of(stretches.begin(), stretches.end(), [&](const auto& one) {
    return std::any_of(by.begin(), by.end(), [&](const auto& other) {
      return one.first > other.first - slack_px && one.second < other.second + slack_px;
    });
  });
}

bool meets(const std::pair<double, double>& one, const Stretches& others) {
  return std::any_of(others.begin(), others.end(),
                     [&](const auto& other) { return one.first < other.second && one.second > other.first; });
}

/// Whether each of the stretches meets one of the others.
bool met(const Stretches& stretches, const Stretches& by) {
  return std::all_of(stretches.begin(), stretches.end(), [&](const auto& one) { return meets(one, by); });
}

/// Whether what looks like a void beside a stiff model is a step of the fill's width: the width beyond it is
/// not what the width before it and the taper promise, by enough to take that much of the cross-section.
bool is_step(const VoidFound& v, const FillModel& model, double taper, double mm) {
  const double beside = 0.3 / mm;
  const double before = 2.0 * model.radius_px(v.from_px - beside);
  const double after = 2.0 * model.radius_px(v.to_px + beside);
  const double step = std::fabs(after - before - taper * (v.to_px - v.from_px + 2.0 * beside));
  const double share = std::min(1.0, step / std::max(before, after));
  const double taken = 1.0 - (1.0 - share) * (1.0 - share);
  const double farther = std::max(0.0, (v.to_px - v.from_px) * mm - step_shows_mm);
  return step * mm > least_step_mm + taper_known_to * farther && v.deficit < step_takes * taken;
}

/// Notches of an outline that gaps along a wall made: such a gap shows once they are left out. `left_out`: what is
/// known to be missing.
Stretches followed_gaps(const FilmOnBench& film, const Followed& followed, const FillFit& all, const Stretches& blocked,
                        const Stretches& unseen, const Stretches& left_out) {
  Stretches notched = notches(all.model, followed.path, followed.coronal_px, film.mm_per_px);
  std::erase_if(notched, [&](const auto& one) { return meets(one, left_out) || meets(one, unseen); });
  if (notched.empty()) return {};
  Stretches without = left_out;
  without.insert(without.end(), notched.begin(), notched.end());
  std::vector<VoidFound> found =
      voids_beside(film, followed, refit(film, followed, all, blocked, without), unseen);
  std::erase_if(found, [](const VoidFound& v) { return v.kind != VoidKind::along_wall; });
  const Stretches gaps = stretches_of(found, film.mm_per_px);
  std::erase_if(notched, [&](const auto& one) { return !meets(one, gaps); });
  return notched;
}

/// Stretches in which the outline sinks to little of what it is to both sides, as it does where it follows a gap too
/// long to be bridged.
Stretches sunk(const FillModel& model, double coronal_px, double mm) {
  const double step = sunk_step_mm / mm, guard = sunk_guard_mm / mm;
  std::vector<double> radius;
  for (double s = model.end_px + model.cap_px; s < coronal_px; s += step) radius.push_back(model.radius_px(s));
  std::vector<double> coronal(radius);
  for (std::size_t i = coronal.size(); i-- > 1;) coronal[i - 1] = std::max(coronal[i - 1], coronal[i]);
  Stretches found;
  double apical = 0.0;
  for (std::size_t i = 0; i < radius.size(); ++i) {
    apical = std::max(apical, radius[i]);
    if (radius[i] > sunk_share * std::min(apical, coronal[i])) continue;
    const double s = model.end_px + model.cap_px + static_cast<double>(i) * step;
    if (!found.empty() && s - guard <= found.back().second)
      found.back().second = s + guard;
    else
      found.emplace_back(s - guard, s + guard);
  }
  const double least = (2.0 * sunk_guard_mm + least_sunk_mm) / mm;
  std::erase_if(found, [&](const auto& one) { return one.second - one.first < least; });
  return found;
}

}  // namespace

std::vector<VoidFound> voids_beside(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                    const Stretches& unseen) {
  std::vector<VoidFound> found = find_voids(film, followed, fit, unseen);
  std::erase_if(found, [&](const VoidFound& v) {
    return is_step(v, fit.model, 2.0 * followed.trace.radius_slope, film.mm_per_px);
  });
  return found;
}

Stretches stretches_of(const std::vector<VoidFound>& voids, double mm) {
  Stretches out;
  for (const VoidFound& v : voids)
    if (v.score > least_void_score) {
      const double guard = void_guard_mm / mm + v.soft_px;
      out.emplace_back(v.from_px - guard, v.to_px + guard);
    }
  return out;
}

Outline outline_beside_voids(const FilmOnBench& film, const Followed& followed, const Stretches& blocked,
                             const Stretches& unseen) {
  const double mm = film.mm_per_px;
  // Voids, and the fit without them, since what of one takes part draws the outline in, and voids again; once more
  // where a void is another than what was left out. Where none is left, what was left out would have told the outline.
  const FillFit all = refit(film, followed, followed.fit, blocked, {});
  const std::vector<VoidFound> voids_of_all = voids_beside(film, followed, all, unseen);
  FillFit fit = all;
  std::vector<VoidFound> voids = voids_of_all;
  Stretches left_out = stretches_of(voids, mm);
  const Stretches more = followed_gaps(film, followed, all, blocked, unseen, left_out);
  left_out.insert(left_out.end(), more.begin(), more.end());
  const Stretches unbridged = sunk(all.model, followed.coronal_px, mm);
  left_out.insert(left_out.end(), unbridged.begin(), unbridged.end());
  for (int turn = 0; turn < 2 && !left_out.empty(); ++turn) {
    fit = refit(film, followed, fit, blocked, left_out);
    voids = voids_beside(film, followed, fit, unseen);
    const Stretches found = stretches_of(voids, mm);
    if (covered(found, left_out, void_guard_mm / mm) && met(left_out, found)) break;
    left_out = found;
  }
  if (left_out.empty()) {
    fit = all;
    voids = voids_of_all;
  }
  // What draws on past the fill's coronal end once it is left out was none.
  Stretches none;
  for (const VoidFound& v : voids)
    if ((v.to_px - followed.coronal_px) * mm > past_crown_mm) none.emplace_back(v.from_px, v.to_px);
  if (none.empty()) return {std::move(fit), std::move(voids)};
  voids = voids_of_all;
  std::erase_if(voids, [&](const VoidFound& v) { return meets({v.from_px, v.to_px}, none); });
  return {refit(film, followed, all, blocked, stretches_of(voids, mm)), std::move(voids)};
}

}  // namespace canalrule
