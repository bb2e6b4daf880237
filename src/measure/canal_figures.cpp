#include "canal_figures.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "beyond.hpp"
#include "canal_scale.hpp"
#include "curvature.hpp"
#include "plan.hpp"
#include "radiopacity.hpp"
#include "root_end.hpp"
#include "settled_outline.hpp"
#include "taper.hpp"
#include "terminus_figure.hpp"
#include "withheld.hpp"

namespace canalrule {

namespace {

/// Of the tip's rounding, in which no width is told, mm. Chosen here; tests/truth/width.cpp.
constexpr double longest_cap_mm = 0.4;

/// Score from which a void's share is worth a word on the film's curve: one of less may be chance altogether. Chosen
/// here; tests/truth/voids.cpp.
constexpr double no_chance_score = 2.0;

/// What the model itself can't follow of a void's length, mm, and of its deficit: standard uncertainties (see
/// model_width_mm). Chosen here; tests/truth/voids.cpp.
constexpr double model_void_mm = 0.012;
constexpr double model_deficit = 0.01;

/// Greatest factor of a width's variance for texture that reaches past a knot. Chosen here; tests/truth/width.cpp.
constexpr double most_reach = 3.0;

/// Standard uncertainty of the coronal level: where a fill's cross-section falls to half. Chosen here;
/// tests/truth/terminus.cpp and width.cpp.
constexpr double coronal_mm = 0.005;

/// The same where another fill lies beside or over that end, fitted together. Chosen here;
/// tests/truth/together.cpp.
constexpr double coronal_together_mm = 0.022;

Third third_of(double at_mm, double from_mm, double to_mm) {
  const double share = (at_mm - from_mm) / std::max(1e-9, to_mm - from_mm);
  if (share < 1.0 / 3.0) return Third::apical;
  return share < 2.0 / 3.0 ? Third::middle : Third::coronal;
}

/// The coronal level, and the filled length from the terminus to it.
void tell_levels(const CanalScale& scale, const Followed& followed, CanalResult& canal) {
  const double from_mm = canal.terminus->to_apex_mm;
  const double to_mm = followed.coronal_px * scale.mm_per_px;
  const double length = to_mm - from_mm;
  const double u_coronal = followed.other.empty() ? coronal_mm : coronal_together_mm;
  canal.coronal_level_mm = Quantity{to_mm, std::hypot(u_coronal, to_mm * scale.relative_along)};
  canal.filled_length_mm =
      Quantity{length, std::hypot(u_coronal, outline_uncertainty_mm(*canal.terminus),
                                  length * scale.relative_along)};
}

Void void_of(const CanalScale& scale, const CanalMarks& marks, const Followed& followed, double terminus_mm,
             const VoidFound& found) {
  const double mm = scale.mm_per_px;
  const double middle = 0.5 * (found.from_px + found.to_px);
  Void one;
  one.from_mm = found.from_px * mm;
  one.to_mm = found.to_px * mm;
  const double length = one.to_mm - one.from_mm;
  one.length_mm = {length, std::hypot(found.u_length_px * mm, model_void_mm, length * scale.relative_along)};
  const double width = found.width_px * scale.across.value;
  one.width_mm = {width, std::hypot(found.u_width_px * scale.across.value, width * scale.relative_across)};
  one.deficit = {found.deficit, std::hypot(found.u_deficit, model_deficit)};
  one.score = found.score;
  one.kind = found.kind;
  one.third = third_of(middle * mm, terminus_mm, followed.coronal_px * mm);
  one.position = followed.path.at(middle, found.offset_px);
  if (marks.planned && marks.planned->backfill_from_mm)
    one.at_backfill = one.from_mm - at_backfill_mm <= *marks.planned->backfill_from_mm &&
                      *marks.planned->backfill_from_mm <= one.to_mm + at_backfill_mm;
  return one;
}

/// The voids, apex first.
std::vector<Void> voids_of(const CanalScale& scale, const CanalMarks& marks, const SettledOutline& settled) {
  const double end = settled.outline.fit.model.end_px;
  std::vector<Void> voids;
  for (const VoidFound& found : settled.outline.voids)
    // One found on a longer fill than the fit that leaves it out ends with lies in no fill.
    if (0.5 * (found.from_px + found.to_px) >= end)
      voids.push_back(void_of(scale, marks, settled.followed, end * scale.mm_per_px, found));
  std::sort(voids.begin(), voids.end(), [](const Void& a, const Void& b) { return a.from_mm < b.from_mm; });
  return voids;
}

/// Where an outline tells a width, px of s.
struct OutlineSeen {
  double from_px, to_px;
  const Stretches& blocked;

  bool at(double s) const {
    return s >= from_px && s <= to_px &&
           std::none_of(blocked.begin(), blocked.end(),
                        [&](const auto& one) { return s >= one.first && s <= one.second; });
  }
};

OutlineSeen seen_of(const SettledOutline& settled, double mm) {
  const FillModel& model = settled.outline.fit.model;
  return {model.end_px + std::min(model.cap_px, longest_cap_mm / mm),
          settled.followed.coronal_px - coronal_margin_mm / mm, settled.blocked};
}

/// Standard uncertainty of the fitted radius at s, px, the correlation of the noise along it allowed for.
double u_radius_px(const FillFit& fit, double s) {
  const LocalBasis::Weights w = fit.model.radius_basis.at(s);
  const int first = fit.places.radius + w.first;
  double variance = 0.0;
  for (int a = 0; a < 4; ++a)
    for (int b = 0; b < 4; ++b)
      variance += w.value[static_cast<std::size_t>(a)] * w.value[static_cast<std::size_t>(b)] *
                  fit.covariance.at<double>(first + a, first + b);
  return std::sqrt(std::min(most_reach, fit.correlation) * std::max(0.0, variance));
}

std::vector<WidthAt> widths_of(const CanalScale& scale, const SettledOutline& settled) {
  const FillFit& fit = settled.outline.fit;
  const OutlineSeen seen = seen_of(settled, scale.mm_per_px);
  std::vector<WidthAt> widths;
  for (int k = static_cast<int>(std::ceil(seen.from_px * scale.mm_per_px / width_every_mm));
       k * width_every_mm / scale.mm_per_px <= seen.to_px; ++k) {
    const double s = k * width_every_mm / scale.mm_per_px;
    if (!seen.at(s)) continue;
    const double width = 2.0 * fit.model.radius_px(s) * scale.across.value;
    widths.push_back({k * width_every_mm, width,
                      std::hypot(2.0 * u_radius_px(fit, s) * scale.across.value, model_width_mm,
                                 width * scale.relative_across)});
  }
  return widths;
}

void tell_taper(const FilmOnBench& film, const CanalScale& scale, const SettledOutline& settled, CanalResult& canal) {
  const double mm = scale.mm_per_px;
  const FillFit& fit = settled.outline.fit;
  const double end = fit.model.end_px, coronal = settled.followed.coronal_px;
  const Stretches voids = stretches_of(settled.outline.voids, mm);
  Stretches out = voids;
  out.insert(out.end(), settled.blocked.begin(), settled.blocked.end());
  // A contrast that changes along the fill is an oval canal's, and would pass for taper.
  const bool oval = std::fabs(fit.model.contrast_slope) > 2.0 * usual_slope;
  const Diameters rows =
      row_diameters(film, settled.followed,
                    oval ? refit(film, settled.followed, fit, settled.blocked, voids, Section::oval) : fit, out);
  const auto taper = [&](double from, double to, const char* name) {
    std::optional<Quantity> q = taper_between(rows, from, to, mm);
    if (q) {
      q->value *= scale.ratio;
      q->standard_uncertainty = std::hypot(q->standard_uncertainty * scale.ratio, q->value * scale.u_ratio);
    } else {
      canal.not_assessable.push_back({std::string("taper.") + name, from * mm, to * mm, "too-little-fill",
                                      "Too little of this stretch of the fill can be measured for a taper."});
    }
    return q;
  };
  const double third = (coronal - end) / 3.0;
  canal.taper.overall = taper(end, coronal, "overall");
  canal.taper.apical = taper(end, end + third, "apical");
  canal.taper.middle = taper(end + third, end + 2.0 * third, "middle");
  canal.taper.coronal = taper(end + 2.0 * third, coronal, "coronal");
  canal.taper.breaks = find_breaks(rows, mm, scale.across.value);
  canal.taper.largest_reversal = largest_reversal(rows, canal.taper.breaks, mm, scale.across.value);
}

/// The centre line, apex first: the fill's own, and the path's on to the apex.
std::vector<CentreAt> centre_line_of(const SettledOutline& settled, double mm) {
  const FillModel& model = settled.outline.fit.model;
  const Followed& followed = settled.followed;
  const OutlineSeen seen = seen_of(settled, mm);
  const double every = centre_every_mm / mm;
  std::vector<CentreAt> line;
  for (double s = std::min(model.end_px, 0.0); s <= followed.coronal_px + 0.5 * every; s += every) {
    CentreAt at;
    at.at_mm = s * mm;
    at.position = followed.path.at(s, model.centre_px(std::max(s, model.end_px)));
    if (seen.at(s)) at.half_width_px = model.radius_px(s);
    line.push_back(at);
  }
  return line;
}

/// The stretches of which not everything can be told, and doubts that the settled outline carries.
void tell_doubts(const FilmOnBench& film, const SettledOutline& settled, const std::vector<Unassessable>& unassessable,
                 CanalResult& canal) {
  const double mm = film.mm_per_px;
  for (const Unassessable& u : unassessable)
    for (const char* figure : {"voids", "width", "taper"})
      if (u.hidden == Hidden::all || figure == std::string("voids"))
        canal.not_assessable.push_back({figure, u.from_px * mm, u.to_px * mm, u.reason, u.text});
  if (settled.leaves_root)
    canal.not_assessable.push_back(
        {"voids", leaves_from_mm, leaves_to_mm, "leaves-root",
         "Where the fill leaves the root its surroundings change: a void can't be told there."});
  if (film.display && std::any_of(canal.voids->begin(), canal.voids->end(),
                                  [](const Void& v) { return v.score >= no_chance_score; }))
    canal.warnings.push_back(
        {"deficit-ordinal",
         "The film's curve is made for display and not known. It is estimated from the fill itself: a larger deficit "
         "of a void is a larger one, but its share is no better than that estimate."});
  if (settled.parted)
    canal.warnings.push_back(
        {"parted-at-apex",
         std::string("A gap at the root's end parts the fill from what lies beyond it, which ") +
             (settled.ends_at_parting
                  ? "is taken for material pressed out of the root: look at the end on the picture."
                  : "goes on as the fill does: whether it was filled or pressed out can't be told.")});
}

}  // namespace

CanalResult canal_figures(const FilmOnBench& film, const ScaleResult& film_scale, const ViewShare& view,
                          const CanalMarks& marks, Followed as_followed,
                          const std::vector<Unassessable>& unassessable) {
  const CanalScale scale = canal_scale(film_scale, view);
  const double mm = scale.mm_per_px;
  const SettledOutline settled = settle_outline(film, std::move(as_followed), unassessable);
  const Followed& followed = settled.followed;
  const FillFit& fit = settled.outline.fit;

  CanalResult canal;
  canal.name = marks.name;
  canal.terminus = terminus_of(scale, marks, followed, fit, settled.u_other_ends_mm);
  tell_levels(scale, followed, canal);
  canal.voids = voids_of(scale, marks, settled);
  canal.width = widths_of(scale, settled);
  if (!followed.other.empty() && !followed.settled) withhold_scraps(canal, "overlap");
  if (std::any_of(unassessable.begin(), unassessable.end(),
                  [](const Unassessable& one) { return one.reason == "scale-object"; }))
    withhold_scraps(canal, "scale-object");
  tell_taper(film, scale, settled, canal);
  canal.curvature_deg = schneider_angle(marks, film.aspect, mm);
  canal.film.blur_mm = unsmoothed_blur_px(fit.model.blur_px, mm) * mm;
  canal.film.contrast_to_texture = followed.evidence;
  canal.film.bone_beyond_apex_mm = film_beyond_apex_mm(film, followed);
  canal.material_beyond_apex =
      material_beyond_apex(film, film_scale, followed, fit, canal.terminus->standard_uncertainty_mm);
  canal.empty_canal = empty_canal_of(film, fit);
  canal.root_end = root_end_of(film, followed, fit, scale.relative_along);
  canal.centre_line = centre_line_of(settled, mm);
  tell_doubts(film, settled, unassessable, canal);
  withhold(canal, followed, fit, unassessable, mm);
  HeldAgainstPlan held = against_plan(marks, canal, film_scale, scale.relative_along);
  canal.against_plan = std::move(held.figures);
  canal.not_assessable.insert(canal.not_assessable.end(), held.not_assessable.begin(), held.not_assessable.end());
  return canal;
}

}  // namespace canalrule
