#include <canalrule/judge/judge.hpp>

#include <string_view>
#include <vector>

#include <canalrule/base/fault.hpp>

#include "finding.hpp"

namespace canalrule {

namespace {

/// Under which names the record says why a criterion's figure isn't there, the nearest first.
std::vector<std::string_view> told_under(CriterionFigure figure) {
  using In = CriterionFigure;
  switch (figure) {
    case In::terminus_to_apex_mm:
      return {"terminus"};
    case In::longest_void_mm:
    case In::void_count:
    case In::largest_void_deficit:
      return {"voids", "terminus"};
    case In::taper_overall:
      return {"taper.overall", "taper", "width", "terminus"};
    case In::taper_apical:
      return {"taper.apical", "taper", "width", "terminus"};
    case In::taper_middle:
      return {"taper.middle", "taper", "width", "terminus"};
    case In::taper_coronal:
      return {"taper.coronal", "taper", "width", "terminus"};
    case In::narrowing_towards_crown_mm:
    case In::taper_step_mm:
      return {"width", "taper", "terminus"};
    case In::material_beyond_apex_mm:
      return {"material_beyond_apex", "terminus"};
    case In::width_against_plan_mm:
      return {"against_plan.mean_width_difference_mm", "against_plan.width", "against_plan", "width"};
    case In::terminus_to_working_length_mm:
      return {"against_plan.terminus_to_working_length_mm", "against_plan", "terminus"};
    case In::filled_length_mm:
      return {"filled_length_mm", "coronal_level_mm", "terminus"};
  }
  fault("a criterion looks at one of the figures there are");
}

}  // namespace

std::optional<Note> why_missing(const CanalResult& canal, CriterionFigure figure) {
  for (const std::string_view name : told_under(figure))
    for (const NotAssessable& entry : canal.not_assessable)
      if (entry.figure == name) return Note{entry.reason, entry.text};
  return std::nullopt;
}

std::string words_for_missing(const CanalResult& canal, CriterionFigure figure, const std::string& otherwise) {
  const std::optional<Note> why = why_missing(canal, figure);
  return why ? why->text : otherwise;
}

}  // namespace canalrule
