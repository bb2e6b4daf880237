#include "plan.hpp"

#include <canalrule/geometry/path.hpp>
#include <cmath>

namespace canalrule {

AgainstPlan against_plan(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale) {
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
    const double u = std::hypot(canal.terminus->standard_uncertainty_mm,
                                length * scale.standard_uncertainty / scale.mm_per_pixel);
    plan.fill_length_from_reference_mm = Quantity{length, u};
    if (planned.working_length_mm)
      plan.terminus_to_working_length_mm = Quantity{*planned.working_length_mm - length, u};
  }
  if (planned.backfill_from_mm && canal.voids) {
    plan.gap_at_backfill = false;
    for (const Void& v : *canal.voids)
      if (v.at_backfill && v.score >= 5.0) plan.gap_at_backfill = true;
  }
  return plan;
}

}  // namespace canalrule
