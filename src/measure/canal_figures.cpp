#include "canal_figures.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "apex_mark.hpp"
#include "beyond.hpp"
#include "curvature.hpp"
#include "fitted_line.hpp"
#include "other_ends.hpp"
#include "outline.hpp"
#include "plan.hpp"
#include "radiopacity.hpp"
#include "root_end.hpp"
#include "taper.hpp"
#include "withheld.hpp"

namespace canalrule {

namespace {

/// Standard uncertainty from the path: what redrawing moves (0.0017 mm over the usual films of docs/accuracy.md, 0.0032
/// over the hard ones, some of which the outline's part covers), and, of a fill that ends short, a share of the way on
/// to the apex, whose bend no fill shows (tests/truth/terminus.cpp). Chosen here.
constexpr double path_mm = 0.0015;
constexpr double way_share = 0.0009;

/// Farther than this aside of the canal's line, mm, an apex mark leaves open which way the canal takes to it: straight
/// there or on to the mark's foot, or between (JCGM 100:2008, 4.3.7); and where its foot lies, by the angle that a
/// drawn path may be off. Chosen here; tests/truth/terminus.cpp.
constexpr double aside_mm = 0.2, off_aside = 0.15;

/// The fill ends at the apex when its distance is within this of 0, mm; below it nobody sees a
/// difference on a film. Chosen here.
constexpr double at_apex_mm = 0.05;

/// A fill that ends farther beyond the apex than this, mm, leaves the root: a fit's surroundings change
/// there. Chosen here; tests/truth/voids.cpp.
constexpr double leaves_root_mm = 0.1;
/// From where to where a void can't be told then, mm from the apex, > 0 towards the crown. The same.
constexpr double leaves_from_mm = -0.28, leaves_to_mm = 0.2;

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

/// Of the tip's rounding, in which no width is told, mm. Chosen here; tests/truth/width.cpp.
constexpr double longest_cap_mm = 0.4;

/// Score from which a void's share is worth a word on the film's curve: one of less may be chance altogether. Chosen
/// here; tests/truth/voids.cpp.
constexpr double no_chance_score = 2.0;

/// What the model itself can't follow of an end and of a void (see model_width_mm): standard uncertainties.
/// Chosen here; tests/truth/terminus.cpp, width.cpp and voids.cpp hold them.
constexpr double model_end_mm = 0.0008;
constexpr double contours_mm = 0.0055, contours_over_mm = 0.35;  ///< of an end at the apex, among the root's contours
constexpr double faint_end_texture = 2.0;  ///< times that a faint end's texture, which looks like ends, is less sure
/// Height under which an end beyond the apex may be one of several, as a strand of bone may go on from it: see
/// `faint_end`. Chosen here; tests/truth/around_the_end.cpp.
constexpr double contested_end = 4.5;
constexpr double outside_texture = 0.4;  ///< as a share more, of an end beyond the apex, among what surrounds a root
constexpr double end_reach = 0.5;        ///< as a share more, of an end's variance: texture reaches past a knot; ...
constexpr double textured_from = 1.0, textured_to = 7.0;  ///< ... each as far as the noise's correlation tells texture
constexpr double most_reach = 3.0;       ///< greatest factor of a width's variance for it
constexpr double model_void_mm = 0.012;  ///< of a void's length
constexpr double model_deficit = 0.01;

/// Standard uncertainty of the coronal level: where a fill's cross-section falls to half. Chosen here;
/// tests/truth/terminus.cpp and width.cpp.
constexpr double coronal_mm = 0.005;

/// The same where another fill lies beside or over that end, fitted together. Chosen here;
/// tests/truth/together.cpp.
constexpr double coronal_together_mm = 0.022;

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

Third third_of(double at_mm, double from_mm, double to_mm) {
  const double share = (at_mm - from_mm) / std::max(1e-9, to_mm - from_mm);
  if (share < 1.0 / 3.0) return Third::apical;
  return share < 2.0 / 3.0 ? Third::middle : Third::coronal;
}

Terminus terminus_of(const ScaleResult& scale, const ViewShare& view, const CanalMarks& marks,
                     const Followed& followed, const FillFit& fit, double u_other_ends_mm) {
  const double mm = scale.mm_per_pixel;
  const double textured =
      std::clamp((fit.correlation - textured_from) / (textured_to - textured_from), 0.0, 1.0);
  const double texture = std::sqrt(1.0 + end_reach * textured) *
                         (end_height(followed, fit, mm) < faint_end ? faint_end_texture : 1.0) *
                         (fit.model.end_px < 0.0 ? 1.0 + outside_texture * textured : 1.0);
  Terminus t;
  const double end = fit.model.end_px;
  t.position = followed.path.at(end, fit.model.centre_px(end));
  t.to_apex_mm = end * mm;
  const double aside = end * mm / contours_over_mm;
  const double u_contours = contours_mm * std::exp(-0.5 * aside * aside);
  // An end that was first found elsewhere may lie anywhere between (JCGM 100:2008, 4.3.7), to both sides; one apical of
  // which the canal holds something anywhere to the apex.
  const double u_travel = doubtful_travel_mm(followed, fit, mm) / std::numbers::sqrt3;
  const double u_going_on = goes_on_apically_mm(followed, fit, mm) / std::numbers::sqrt3;
  const double u_end = std::hypot(
      std::sqrt(std::max(0.0, fit.covariance.at<double>(fit.places.end, fit.places.end))) * mm * texture,
      std::hypot(model_end_mm, u_contours), std::hypot(u_other_ends_mm, u_travel, u_going_on));
  const double u_scale = std::fabs(t.to_apex_mm) * scale.standard_uncertainty / mm;
  const double short_mm = std::max(0.0, t.to_apex_mm);
  const double mark_aside = std::max(0.0, std::fabs(followed.path.project(marks.apex).n_px) * mm - aside_mm);
  const double longer = short_mm > 0.0 ? std::hypot(short_mm, mark_aside) - short_mm : 0.0;
  t.parts = {{"outline", u_end}, apex_mark(marks, followed.path, mm), {"scale", u_scale},
             {"path", std::hypot(path_mm, way_share * short_mm,
                                 std::hypot(longer / std::sqrt(12.0), off_aside * mark_aside))}};
  if (view.along > 0.0) t.parts.push_back({"view", std::fabs(t.to_apex_mm) * view.along});
  double sum = 0.0;
  for (const UncertaintyPart& part : t.parts)
    sum += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
  t.standard_uncertainty_mm = std::sqrt(sum);
  t.side =
      std::fabs(t.to_apex_mm) <= at_apex_mm ? Side::at : (t.to_apex_mm > 0.0 ? Side::short_of : Side::beyond);
  return t;
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

}  // namespace

CanalResult canal_figures(const FilmOnBench& film, const ScaleResult& scale, const ViewShare& view,
                          const CanalMarks& marks, Followed as_followed,
                          const std::vector<Unassessable>& unassessable) {
  const double mm = scale.mm_per_pixel;
  // What a gap at the root's end parts from the fill was pressed out of the root, where it isn't like the fill.
  const std::optional<VoidFound> parting = gap_at_apex(film, as_followed, unassessable);
  std::optional<Followed> shorter;
  if (parting && !goes_on_beyond(*parting, as_followed.fit.model, mm))
    shorter = ending_at(film, as_followed, parting->from_px, parting->to_px);
  as_followed.fit.keep_no_planes();
  const Followed& followed = shorter ? *shorter : as_followed;
  const Quantity across = scale.mm_per_pixel_across.value_or(Quantity{mm, scale.standard_uncertainty});
  const double relative_scale = std::hypot(scale.standard_uncertainty / mm, view.along);
  const double relative_across = std::hypot(across.standard_uncertainty / across.value,
                                            scale.mm_per_pixel_across ? view.across : view.along);
  CanalResult canal;
  canal.name = marks.name;
  canal.drawn_path = marks.path;

  const Stretches blocked = wholly_hidden(unassessable);
  Stretches unseen = stretches_of(unassessable);
  const double first_end = followed.fit.model.end_px;
  if (first_end < -leaves_root_mm / mm) unseen.emplace_back(leaves_from_mm / mm, leaves_to_mm / mm);
  auto [fit, voids] = outline_beside_voids(film, followed, blocked, unseen);
  // A faint end may lie elsewhere as well, and beyond the apex one that is hardly less faint than it.
  double u_other_ends_mm = 0.0;
  const double height = end_height(followed, fit, mm);
  if (height < faint_end || (fit.model.end_px < 0.0 && height < contested_end)) {
    std::vector<OtherEnd> others = other_ends(film, followed, fit, blocked, stretches_of(voids, mm));
    const auto likeliest = std::min_element(others.begin(), others.end(), [](const OtherEnd& a, const OtherEnd& b) {
      return a.less_likely < b.less_likely;
    });
    if (height < faint_end && likeliest != others.end() && is_likelier(*likeliest)) {
      fit = std::move(likeliest->fit);
      voids = voids_beside(film, followed, fit, unseen);
    } else {
      u_other_ends_mm = spread_over(others, fit.model.end_px) * mm;
    }
  }
  Stretches out = stretches_of(voids, mm);
  out.insert(out.end(), blocked.begin(), blocked.end());

  canal.terminus = terminus_of(scale, view, marks, followed, fit, u_other_ends_mm);
  const double end = fit.model.end_px;
  const double from_mm = canal.terminus->to_apex_mm;
  const double to_mm = followed.coronal_px * mm;
  const double u_coronal = followed.other.empty() ? coronal_mm : coronal_together_mm;
  canal.coronal_level_mm = Quantity{to_mm, std::hypot(u_coronal, to_mm * relative_scale)};
  canal.filled_length_mm = Quantity{
      to_mm - from_mm, std::hypot(std::hypot(u_coronal, canal.terminus->parts[0].standard_uncertainty_mm),
                                  (to_mm - from_mm) * relative_scale)};

  canal.voids.emplace();
  for (const VoidFound& v : voids) {
    // Found on a longer fill than the fit that leaves it out ends with: it lies in none.
    const double middle = 0.5 * (v.from_px + v.to_px);
    if (middle < end) continue;
    Void one;
    one.from_mm = v.from_px * mm;
    one.to_mm = v.to_px * mm;
    const double length = one.to_mm - one.from_mm;
    one.length_mm = {length,
                     std::hypot(std::hypot(v.u_length_px * mm, model_void_mm), length * relative_scale)};
    one.width_mm = {v.width_px * across.value,
                    std::hypot(v.u_width_px * across.value, v.width_px * across.value * relative_across)};
    one.deficit = {v.deficit, std::hypot(v.u_deficit, model_deficit)};
    one.score = v.score;
    one.kind = v.kind;
    one.third = third_of(middle * mm, from_mm, to_mm);
    one.position = followed.path.at(middle, v.offset_px);
    if (marks.planned && marks.planned->backfill_from_mm)
      one.at_backfill = one.from_mm - at_backfill_mm <= *marks.planned->backfill_from_mm &&
                        *marks.planned->backfill_from_mm <= one.to_mm + at_backfill_mm;
    canal.voids->push_back(one);
  }
  std::sort(canal.voids->begin(), canal.voids->end(),
            [](const Void& a, const Void& b) { return a.from_mm < b.from_mm; });

  // Widths of the outline.
  const double first_width = end + std::min(fit.model.cap_px, longest_cap_mm / mm);
  const auto blocked_at = [&](double s) {
    for (const auto& [low, high] : blocked)
      if (s >= low && s <= high) return true;
    return false;
  };
  const double last_width = followed.coronal_px - coronal_margin_mm / mm;
  const double reach = std::min(most_reach, fit.correlation);
  for (int k = static_cast<int>(std::ceil(first_width * mm / width_every_mm));
       k * width_every_mm / mm <= last_width; ++k) {
    const double s = k * width_every_mm / mm;
    if (blocked_at(s)) continue;
    const LocalBasis::Weights w = fit.model.radius_basis.at(s);
    double variance = 0.0;
    for (int a = 0; a < 4; ++a)
      for (int b = 0; b < 4; ++b)
        variance +=
            w.value[static_cast<std::size_t>(a)] * w.value[static_cast<std::size_t>(b)] *
            fit.covariance.at<double>(fit.places.radius + w.first + a, fit.places.radius + w.first + b);
    const double width = 2.0 * fit.model.radius_px(s) * across.value;
    canal.width.push_back(
        {k * width_every_mm, width,
         std::hypot(std::hypot(2.0 * std::sqrt(reach * std::max(0.0, variance)) * across.value,
                               model_width_mm),
                    width * relative_across)});
  }

  if (!followed.other.empty() && !followed.settled) withhold_scraps(canal);

  // Taper. Its scale is across over along: where one scale serves both it cancels.
  const double ratio = across.value / mm;
  const double u_ratio = scale.mm_per_pixel_across ? std::hypot(relative_across, relative_scale) : view.taper;
  // A contrast that changes along the fill is an oval canal's, and would pass for taper.
  const bool oval = std::fabs(fit.model.contrast_slope) > 2.0 * usual_slope;
  const FillFit shape = oval ? refit(film, followed, fit, blocked, stretches_of(voids, mm), Section::oval) : fit;
  const Diameters rows = row_diameters(film, followed, shape, out);
  const double third = (followed.coronal_px - end) / 3.0;
  const auto taper = [&](double from, double to, const char* name) {
    std::optional<Quantity> q = taper_between(rows, from, to, mm);
    if (q) {
      q->value *= ratio;
      q->standard_uncertainty = std::hypot(q->standard_uncertainty * ratio, q->value * u_ratio);
    } else {
      canal.not_assessable.push_back({std::string("taper.") + name, from * mm, to * mm, "too-little-fill",
                                      "Too little of this stretch of the fill can be measured for a taper."});
    }
    return q;
  };
  canal.taper.overall = taper(end, followed.coronal_px, "overall");
  canal.taper.apical = taper(end, end + third, "apical");
  canal.taper.middle = taper(end + third, end + 2.0 * third, "middle");
  canal.taper.coronal = taper(end + 2.0 * third, followed.coronal_px, "coronal");
  canal.taper.breaks = find_breaks(rows, mm, across.value);
  canal.taper.largest_reversal = largest_reversal(rows, canal.taper.breaks, mm, across.value);

  canal.curvature_deg = schneider_angle(marks, film.aspect);
  canal.film.blur_mm = unsmoothed_blur_px(fit.model.blur_px, mm) * mm;
  canal.film.contrast_to_texture = followed.evidence;
  canal.film.bone_beyond_apex_mm = film_beyond_apex_mm(film, followed);
  canal.material_beyond_apex =
      material_beyond_apex(film, scale, followed, fit, canal.terminus->standard_uncertainty_mm);
  canal.empty_canal = empty_canal_of(film, fit);
  canal.root_end = root_end_of(film, followed, fit, relative_scale);

  // The centre line, apex first.
  const double every = 0.25 / mm;
  for (double s = std::min(end, 0.0); s <= followed.coronal_px + 0.5 * every; s += every) {
    CentreAt at;
    at.at_mm = s * mm;
    at.position = followed.path.at(s, fit.model.centre_px(std::max(s, end)));
    if (s >= first_width && s <= last_width && !blocked_at(s)) at.half_width_px = fit.model.radius_px(s);
    canal.centre_line.push_back(at);
  }
  for (const Unassessable& u : unassessable)
    for (const char* figure : {"voids", "width", "taper"})
      if (u.hidden == Hidden::all || figure == std::string("voids"))
        canal.not_assessable.push_back({figure, u.from_px * mm, u.to_px * mm, u.reason, u.text});
  if (first_end < -leaves_root_mm / mm)
    canal.not_assessable.push_back(
        {"voids", leaves_from_mm, leaves_to_mm, "leaves-root",
         "Where the fill leaves the root its surroundings change: a void can't be told there."});
  if (film.display && std::any_of(canal.voids->begin(), canal.voids->end(),
                                  [](const Void& v) { return v.score >= no_chance_score; }))
    canal.warnings.push_back(
        {"deficit-ordinal",
         "The film's curve is made for display and not known. It is estimated from the fill itself: a larger deficit "
         "of a void is a larger one, but its share is no better than that estimate."});
  if (parting)
    canal.warnings.push_back(
        {"parted-at-apex",
         std::string("A gap at the root's end parts the fill from what lies beyond it, which ") +
             (shorter ? "is taken for material pressed out of the root: look at the end on the picture."
                      : "goes on as the fill does: whether it was filled or pressed out can't be told.")});
  withhold(canal, followed, fit, unassessable, mm);
  HeldAgainstPlan held = against_plan(marks, canal, scale, relative_scale);
  canal.against_plan = std::move(held.figures);
  canal.not_assessable.insert(canal.not_assessable.end(), held.not_assessable.begin(), held.not_assessable.end());
  return canal;
}

}  // namespace canalrule
