#include "finding.hpp"

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>
#include <canalrule/judge/conformity.hpp>

namespace canalrule {

namespace {

Finding one_value(const std::optional<Quantity>& value, const Criterion& criterion) {
  Finding finding;
  finding.figure = value;
  if (value) finding.probability = probability_of_conformity(*value, criterion.lower, criterion.upper);
  return finding;
}

/// The largest of several values against an upper limit: each must conform.
Finding largest_of(const std::vector<Quantity>& values, const Criterion& criterion, const char* none_found) {
  Finding finding;
  finding.probability = 1.0;
  for (const Quantity& value : values) {
    *finding.probability *= probability_of_conformity(value, std::nullopt, criterion.upper);
    if (!finding.figure || value.value > finding.figure->value) finding.figure = value;
  }
  if (values.empty()) finding.reason = none_found;
  return finding;
}

Finding with_reason(Finding finding, const CanalResult& canal, const Criterion& criterion,
                    const std::string& otherwise) {
  if (!finding.probability) finding.reason = words_for_missing(canal, criterion.figure, otherwise);
  return finding;
}

Finding material_beyond(const CanalResult& canal, const Criterion& criterion) {
  const bool sought = canal.terminus && words_for_missing(canal, criterion.figure, "").empty();
  std::vector<Quantity> lengths;
  for (const MaterialBeyond& material : canal.material_beyond_apex) lengths.push_back(material.length_mm);
  if (lengths.empty() && !sought)
    return with_reason({}, canal, criterion, "material beyond the apex could not be looked for");
  return largest_of(lengths, criterion, "no material beyond the apex was found");
}

const std::vector<std::string_view> width_figures{"width", "taper"};

Finding narrowing(const CanalResult& canal, const Criterion& criterion) {
  if (canal.width.empty())
    return with_reason({}, canal, criterion, "no width was measured");
  std::vector<Quantity> found;
  if (canal.taper.largest_reversal) found.push_back(canal.taper.largest_reversal->narrowing_mm);
  Finding finding = largest_of(found, criterion, "the fill nowhere narrows towards the crown");
  finding.seen_over = width_figures;
  return finding;
}

/// A step may go either way, so its size conforms where the signed step lies between both signs of the limit.
Finding taper_step(const CanalResult& canal, const Criterion& criterion) {
  if (canal.width.empty())
    return with_reason({}, canal, criterion, "no width was measured");
  Finding finding;
  finding.probability = 1.0;
  const Limit upper = *criterion.upper;
  const Limit lower{-upper.value, upper.inclusive};
  for (const TaperBreak& found : canal.taper.breaks) {
    if (found.kind != "step") continue;
    *finding.probability *= probability_of_conformity(found.step_mm, lower, upper);
    const Quantity size{std::abs(found.step_mm.value), found.step_mm.standard_uncertainty};
    if (!finding.figure || size.value > finding.figure->value) finding.figure = size;
  }
  if (!finding.figure) finding.reason = "no step of the width was found";
  finding.seen_over = width_figures;
  return finding;
}

Finding taper_part(const CanalResult& canal, const Criterion& criterion, const std::optional<Quantity>& part) {
  return with_reason(one_value(part, criterion), canal, criterion, "this taper was not measured");
}

}  // namespace

Finding find_figure(const CanalResult& canal, const Criterion& criterion) {
  using Figure = CriterionFigure;
  const AgainstPlan& plan = canal.against_plan;
  switch (criterion.figure) {
    case Figure::terminus_to_apex_mm: {
      std::optional<Quantity> gap;
      if (canal.terminus) gap = Quantity{canal.terminus->to_apex_mm, canal.terminus->standard_uncertainty_mm};
      return with_reason(one_value(gap, criterion), canal, criterion, "the end of the fill was not found");
    }
    case Figure::taper_overall: return taper_part(canal, criterion, canal.taper.overall);
    case Figure::taper_apical: return taper_part(canal, criterion, canal.taper.apical);
    case Figure::taper_middle: return taper_part(canal, criterion, canal.taper.middle);
    case Figure::taper_coronal: return taper_part(canal, criterion, canal.taper.coronal);
    case Figure::narrowing_towards_crown_mm: return narrowing(canal, criterion);
    case Figure::taper_step_mm: return taper_step(canal, criterion);
    case Figure::material_beyond_apex_mm: return material_beyond(canal, criterion);
    case Figure::width_against_plan_mm:
      return with_reason(one_value(plan.mean_width_difference_mm, criterion), canal, criterion,
                         "the reading plans no tip diameter and taper for this canal");
    case Figure::terminus_to_working_length_mm:
      return with_reason(one_value(plan.terminus_to_working_length_mm, criterion), canal, criterion,
                         "the reading plans no working length for this canal");
    case Figure::filled_length_mm:
      return with_reason(one_value(canal.filled_length_mm, criterion), canal, criterion,
                         "the filled length was not measured");
    case Figure::longest_void_mm:
    case Figure::void_count:
    case Figure::largest_void_deficit: break;
  }
  fault("voids are found by find_voids");
}

}  // namespace canalrule
