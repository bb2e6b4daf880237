#include "settled_outline.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "fitted_line.hpp"
#include "other_ends.hpp"
#include "withheld.hpp"

namespace canalrule {

namespace {

/// A fill that ends farther beyond the apex than this, mm, leaves the root. Chosen here; tests/truth/voids.cpp.
constexpr double leaves_root_mm = 0.1;

/// How far from the apex a gap may lie that parts a fill from what was pressed out of the root, mm: the apex mark's
/// uncertainty and a gap's length. Chosen here; tests/truth/around_the_end.cpp.
constexpr double root_surface_mm = 0.45;

/// What lies beyond such a gap goes on as the fill does where its width is within this share of what a line through
/// the fill's radius promises, and its centre within this of the fill's line, mm; the line's stretch begins and ends
/// so far coronal of the gap, mm. Chosen here; tests/truth/around_the_end.cpp and voids.cpp.
constexpr double same_width = 0.15;
constexpr double same_line_mm = 0.015;
constexpr double clear_of_gap_mm = 0.3;
constexpr double promising_mm = 3.0;
constexpr double least_parted_mm = 0.8;  ///< of fill coronal of such a gap; chosen here, tests/laws/anywhere.cpp

/// Height under which an end beyond the apex may be one of several, as a strand of bone may go on from it: see
/// `faint_end`. Chosen here; tests/truth/around_the_end.cpp.
constexpr double contested_end = 4.5;

Stretches stretches_of(const std::vector<Unassessable>& unassessable) {
  Stretches out;
  for (const Unassessable& u : unassessable) out.emplace_back(u.from_px, u.to_px);
  return out;
}

Stretches wholly_hidden(const std::vector<Unassessable>& unassessable) {
  Stretches out;
  for (const Unassessable& u : unassessable)
    if (u.hidden == Hidden::all) out.emplace_back(u.from_px, u.to_px);
  return out;
}

/// A gap at the root's end that parts a fill that seems to go through it.
std::optional<VoidFound> gap_at_apex(const FilmOnBench& film, const Followed& followed,
                                     const std::vector<Unassessable>& unassessable) {
  const double mm = film.mm_per_px;
  const double reach = root_surface_mm / mm;
  const bool hidden = std::any_of(unassessable.begin(), unassessable.end(), [&](const Unassessable& u) {
    return u.from_px < reach && u.to_px > -reach;
  });
  if (hidden || followed.fit.model.end_px > -leaves_root_mm / mm) return std::nullopt;
  std::optional<VoidFound> gap = parting_gap(film, followed, followed.fit, -reach, reach);
  if (gap && (followed.coronal_px - gap->to_px) * mm < least_parted_mm) gap.reset();
  return gap;
}

/// Whether what lies apical of a gap is as wide as the fill coronal of it promises, and on its line.
bool goes_on_beyond(const VoidFound& gap, const FillModel& model, double mm) {
  std::vector<double> s, radius, centre;
  for (double at = gap.to_px + clear_of_gap_mm / mm; at < gap.to_px + promising_mm / mm; at += 0.1 / mm) {
    s.push_back(at);
    radius.push_back(model.radius_px(at));
    centre.push_back(model.centre_px(at));
  }
  const double there = 0.5 * (model.end_px + model.cap_px + gap.from_px);
  const double width = model.radius_px(there) / line_through(s, radius).at(there);
  const double aside = model.centre_px(there) - line_through(s, centre).at(there);
  return std::fabs(width - 1.0) < same_width && std::fabs(aside) * mm < same_line_mm;
}

/// Holds an end against others where it is so faint that it may lie elsewhere as well, or beyond the apex and hardly
/// less faint: takes one that is plainly likelier, else gives what they leave open, mm.
double hold_against_others(const FilmOnBench& film, const Followed& followed, const Stretches& blocked,
                           const Stretches& unseen, Outline& outline) {
  const double mm = film.mm_per_px;
  const double height = end_height(followed, outline.fit, mm);
  const bool faint = height < faint_end;
  if (!faint && !(outline.fit.model.end_px < 0.0 && height < contested_end)) return 0.0;
  std::vector<OtherEnd> others = other_ends(film, followed, outline.fit, blocked, stretches_of(outline.voids, mm));
  const auto likeliest = std::min_element(
      others.begin(), others.end(), [](const OtherEnd& a, const OtherEnd& b) { return a.less_likely < b.less_likely; });
  if (!faint || likeliest == others.end() || !is_likelier(*likeliest))
    return spread_over(others, outline.fit.model.end_px) * mm;
  outline.fit = std::move(likeliest->fit);
  outline.voids = voids_beside(film, followed, outline.fit, unseen);
  return 0.0;
}

}  // namespace

SettledOutline settle_outline(const FilmOnBench& film, Followed followed,
                              const std::vector<Unassessable>& unassessable) {
  const double mm = film.mm_per_px;
  const std::optional<VoidFound> parting = gap_at_apex(film, followed, unassessable);
  const bool ends_there = parting && !goes_on_beyond(*parting, followed.fit.model, mm);
  if (ends_there) followed = ending_at(film, followed, parting->from_px, parting->to_px);
  followed.fit.keep_no_planes();

  Stretches blocked = wholly_hidden(unassessable);
  Stretches unseen = stretches_of(unassessable);
  const bool leaves_root = followed.fit.model.end_px < -leaves_root_mm / mm;
  if (leaves_root) unseen.emplace_back(leaves_from_mm / mm, leaves_to_mm / mm);
  Outline outline = outline_beside_voids(film, followed, blocked, unseen);
  const double u_other_ends_mm = hold_against_others(film, followed, blocked, unseen, outline);
  return {.followed = std::move(followed),
          .outline = std::move(outline),
          .blocked = std::move(blocked),
          .u_other_ends_mm = u_other_ends_mm,
          .parted = parting.has_value(),
          .ends_at_parting = ends_there,
          .leaves_root = leaves_root};
}

}  // namespace canalrule
