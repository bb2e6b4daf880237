#include "terminus_figure.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <numbers>

#include "apex_mark.hpp"
#include "beyond.hpp"
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

/// What the model itself can't follow of an end (see model_width_mm): standard uncertainties. Chosen here;
/// tests/truth/terminus.cpp holds them.
constexpr double model_end_mm = 0.0008;
constexpr double contours_mm = 0.0055, contours_over_mm = 0.35;  ///< of an end at the apex, among the root's contours
constexpr double faint_end_texture = 2.0;  ///< times that a faint end's texture, which looks like ends, is less sure
constexpr double outside_texture = 0.4;  ///< as a share more, of an end beyond the apex, among what surrounds a root
constexpr double end_reach = 0.5;  ///< as a share more, of an end's variance: texture reaches past a knot; ...
constexpr double textured_from = 1.0, textured_to = 7.0;  ///< ... each as far as the noise's correlation tells texture

}  // namespace

Terminus terminus_of(const CanalScale& scale, const CanalMarks& marks, const Followed& followed, const FillFit& fit,
                     double u_other_ends_mm) {
  const double mm = scale.mm_per_px;
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
  const double u_scale = std::fabs(t.to_apex_mm) * scale.u_mm_per_px / mm;
  const double short_mm = std::max(0.0, t.to_apex_mm);
  const double mark_aside = std::max(0.0, std::fabs(followed.path.project(marks.apex).n_px) * mm - aside_mm);
  const double longer = short_mm > 0.0 ? std::hypot(short_mm, mark_aside) - short_mm : 0.0;
  t.parts = {{"outline", u_end}, apex_mark(marks, followed.path, mm), {"scale", u_scale},
             {"path", std::hypot(path_mm, way_share * short_mm,
                                 std::hypot(longer / std::sqrt(12.0), off_aside * mark_aside))}};
  if (scale.view_along > 0.0) t.parts.push_back({"view", std::fabs(t.to_apex_mm) * scale.view_along});
  double sum = 0.0;
  for (const UncertaintyPart& part : t.parts)
    sum += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
  t.standard_uncertainty_mm = std::sqrt(sum);
  t.side =
      std::fabs(t.to_apex_mm) <= at_apex_mm ? Side::at : (t.to_apex_mm > 0.0 ? Side::short_of : Side::beyond);
  return t;
}

double outline_uncertainty_mm(const Terminus& terminus) {
  const auto part = std::find_if(terminus.parts.begin(), terminus.parts.end(),
                                 [](const UncertaintyPart& one) { return one.source == "outline"; });
  ensure(part != terminus.parts.end(), "a terminus lists its outline's uncertainty");
  return part->standard_uncertainty_mm;
}

}  // namespace canalrule
