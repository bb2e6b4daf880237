#include "plan.hpp"

#include <algorithm>
#include <canalrule/geometry/path.hpp>
#include <cmath>

#include "click.hpp"

namespace canalrule {

namespace {

/// A gap at least so sure lies where the backfill starts. Chosen here; tests/unit/measure/plan.cpp.
constexpr double least_gap_score = 5.0;

/// A figure against the plan is missing for the reason for which a figure that it needs is.
void missing_as(const char* needed, const char* figure, const CanalResult& canal, HeldAgainstPlan& held) {
  const auto why = std::find_if(canal.not_assessable.begin(), canal.not_assessable.end(),
                                [&](const NotAssessable& entry) { return entry.figure == needed; });
  if (why != canal.not_assessable.end())
    held.not_assessable.push_back({figure, why->from_mm, why->to_mm, why->reason, why->text});
}

void compare_widths(const Planned& planned, const CanalResult& canal, HeldAgainstPlan& held) {
  if (planned.tip_diameter_mm.has_value() != planned.taper.has_value())
    held.not_assessable.push_back({"against_plan.width", {}, {}, "plan-incomplete",
                                   "A width is planned by the tip's diameter and the taper together: the reading "
                                   "gives one of them."});
  if (!planned.tip_diameter_mm || !planned.taper) return;
  if (!canal.terminus || canal.width.empty()) {
    missing_as(canal.terminus ? "width" : "terminus", "against_plan.width", canal, held);
    return;
  }
  AgainstPlan& plan = held.figures;
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
  plan.mean_width_difference_mm = Quantity{sum / n, u / n};
}

void compare_length(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale, double relative_scale,
                    HeldAgainstPlan& held) {
  const Planned& planned = *marks.planned;
  const auto not_told = [&](const char* reason, const char* text) {
    if (planned.working_length_mm)
      held.not_assessable.push_back({"against_plan.terminus_to_working_length_mm", {}, {}, reason, text});
  };
  if (!marks.coronal_reference) {
    not_told("no-coronal-reference",
             "The reading plans a working length and marks no coronal reference that it is measured from.");
    return;
  }
  if (!canal.terminus) {
    if (planned.working_length_mm)
      missing_as("terminus", "against_plan.terminus_to_working_length_mm", canal, held);
    return;
  }
  const CanalPath path(marks.path, marks.apex, scale.row_to_column_aspect);
  const double reference_px = path.project(*marks.coronal_reference).s_px;
  const double length = reference_px * scale.mm_per_pixel - canal.terminus->to_apex_mm;
  if (length <= 0.0) {
    not_told("reference-apical",
             "The coronal reference lies apical of the fill's end: look whether it is marked at the crown.");
    return;
  }
  // From end to end: where the apex was marked doesn't matter.
  double variance =
      std::pow(length * relative_scale, 2) + std::pow(click_px * scale.mm_per_pixel, 2);
  for (const UncertaintyPart& part : canal.terminus->parts)
    if (part.source == "outline" || part.source == "path")
      variance += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
  const double u = std::sqrt(variance);
  held.figures.fill_length_from_reference_mm = Quantity{length, u};
  if (planned.working_length_mm)
    held.figures.terminus_to_working_length_mm = Quantity{*planned.working_length_mm - length, u};
}

/// Whether voids can't be told on part of the stretch.
bool unseen(const CanalResult& canal, double from_mm, double to_mm) {
  return std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(), [&](const NotAssessable& entry) {
    return entry.figure == "voids" && entry.from_mm && entry.to_mm && *entry.from_mm < to_mm && *entry.to_mm > from_mm;
  });
}

void look_at_backfill(double start_mm, const CanalResult& canal, HeldAgainstPlan& held) {
  if (!canal.voids) {
    missing_as("voids", "against_plan.gap_at_backfill", canal, held);
    return;
  }
  for (const Void& v : *canal.voids)
    if (v.at_backfill && v.score >= least_gap_score) {
      held.figures.gap_at_backfill = true;
      return;
    }
  const auto not_told = [&](const char* reason, const char* text) {
    held.not_assessable.push_back({"against_plan.gap_at_backfill", {}, {}, reason, text});
  };
  const bool within_fill = canal.terminus && canal.coronal_level_mm && start_mm > canal.terminus->to_apex_mm &&
                           start_mm < canal.coronal_level_mm->value;
  if (!within_fill)
    not_told("outside-fill", "The planned start of the backfill lies outside the fill.");
  else if (unseen(canal, start_mm - at_backfill_mm, start_mm + at_backfill_mm))
    not_told("voids-unseen", "Where the backfill is planned to start voids can't be told.");
  else
    held.figures.gap_at_backfill = false;
}

}  // namespace

HeldAgainstPlan against_plan(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale,
                             double relative_scale) {
  HeldAgainstPlan held;
  if (!marks.planned) return held;
  compare_widths(*marks.planned, canal, held);
  compare_length(marks, canal, scale, relative_scale, held);
  if (marks.planned->backfill_from_mm) look_at_backfill(*marks.planned->backfill_from_mm, canal, held);
  return held;
}

}  // namespace canalrule
