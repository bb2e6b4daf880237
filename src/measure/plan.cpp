#include "plan.hpp"

#include <canalrule/geometry/path.hpp>
#include <cmath>

namespace canalrule {

namespace {

/// How well a person marks the coronal reference, as for a mark of the scale (scale.cpp), px.
constexpr double reference_mark_px = 0.5;

/// A gap at least so sure lies where the backfill starts. Chosen here; tests/truth/plan.cpp.
constexpr double least_gap_score = 5.0;

}  // namespace

AgainstPlan against_plan(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale,
                         double relative_scale) {
  AgainstPlan plan;
  if (!marks.planned) return plan;
  const Planned& planned = *marks.planned;
  if (planned.tip_diameter_mm && planned.taper && canal.terminus) {
    double sum = 0.0;
    double u = 0.0;
    for (const WidthAt& width : canal.width) {
      AgainstPlan::WidthDifference one;
      one.at_mm = width.at_mm;
      one.planned_mm = *planned.tip_diameter_mm + *planned.taper * (width.at_mm - canal.terminus->to_apex_mm);
      one.difference_mm = width.width_mm - one.planned_mm;
      one.standard_uncertainty_mm = width.standard_uncertainty_mm;
      sum += one.difference_mm;
      u += one.standard_uncertainty_mm;
      plan.width.push_back(one);
    }
    // Neighbouring widths share most of their error: the mean's uncertainty is the mean uncertainty.
    const double n = static_cast<double>(plan.width.size());
    if (!plan.width.empty()) plan.mean_width_difference_mm = Quantity{sum / n, u / n};
  }
  if (canal.terminus && marks.coronal_reference) {
    const CanalPath path(marks.path, marks.apex, scale.row_to_column_aspect);
    const double reference_px = path.project(*marks.coronal_reference).s_px;
    const double length = reference_px * scale.mm_per_pixel - canal.terminus->to_apex_mm;
    // From end to end: where the apex was marked doesn't matter.
    double variance =
        std::pow(length * relative_scale, 2) + std::pow(reference_mark_px * scale.mm_per_pixel, 2);
    for (const UncertaintyPart& part : canal.terminus->parts)
      if (part.source == "outline" || part.source == "path")
        variance += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
    const double u = std::sqrt(variance);
    plan.fill_length_from_reference_mm = Quantity{length, u};
    if (planned.working_length_mm)
      plan.terminus_to_working_length_mm = Quantity{*planned.working_length_mm - length, u};
  }
  if (planned.backfill_from_mm && canal.voids) {
    plan.gap_at_backfill = false;
    for (const Void& v : *canal.voids)
      if (v.at_backfill && v.score >= least_gap_score) plan.gap_at_backfill = true;
  }
  return plan;
}

}  // namespace canalrule
