#include "figures.hpp"

#include <array>

namespace canalrule::audit {

namespace {

using In = CriterionFigure;

std::optional<Quantity> terminus(const CanalResult& canal) {
  if (!canal.terminus) return std::nullopt;
  return Quantity{canal.terminus->to_apex_mm, canal.terminus->standard_uncertainty_mm};
}

constexpr std::array all{
    Figure{In::terminus_to_apex_mm, "terminus_to_apex_mm", "End of the fill to the radiographic apex", "mm",
           -2.0, 0.25, 32, terminus},
    Figure{In::terminus_to_working_length_mm, "terminus_to_working_length_mm",
           "End of the fill to the planned working length", "mm", -2.0, 0.25, 32,
           [](const CanalResult& canal) { return canal.against_plan.terminus_to_working_length_mm; }},
    Figure{In::filled_length_mm, "filled_length_mm", "Filled length", "mm", 0.0, 1.0, 25,
           [](const CanalResult& canal) { return canal.filled_length_mm; }},
    Figure{In::taper_overall, "taper_overall", "Taper of the whole fill", "mm per mm", -0.05, 0.01, 25,
           [](const CanalResult& canal) { return canal.taper.overall; }},
    Figure{In::taper_apical, "taper_apical", "Taper of the apical third", "mm per mm", -0.05, 0.01, 25,
           [](const CanalResult& canal) { return canal.taper.apical; }},
    Figure{In::taper_middle, "taper_middle", "Taper of the middle third", "mm per mm", -0.05, 0.01, 25,
           [](const CanalResult& canal) { return canal.taper.middle; }},
    Figure{In::taper_coronal, "taper_coronal", "Taper of the coronal third", "mm per mm", -0.05, 0.01, 25,
           [](const CanalResult& canal) { return canal.taper.coronal; }},
    Figure{In::width_against_plan_mm, "width_against_plan_mm", "Width of the fill less the planned one", "mm",
           -0.5, 0.05, 20,
           [](const CanalResult& canal) { return canal.against_plan.mean_width_difference_mm; }},
};

}  // namespace

std::span<const Figure, figure_count> figures() { return all; }

}  // namespace canalrule::audit
