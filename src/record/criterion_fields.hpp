#pragma once

#include <canalrule/record/criteria.hpp>
#include <optional>

#include "fields.hpp"

/// What criteria and rubrics have in common: figures, limits, which voids count.
namespace canalrule {

inline constexpr Words<CriterionFigure, 14> figure_words{{
    {CriterionFigure::terminus_to_apex_mm, "terminus_to_apex_mm"},
    {CriterionFigure::longest_void_mm, "longest_void_mm"},
    {CriterionFigure::void_count, "void_count"},
    {CriterionFigure::largest_void_deficit, "largest_void_deficit"},
    {CriterionFigure::taper_overall, "taper_overall"},
    {CriterionFigure::taper_apical, "taper_apical"},
    {CriterionFigure::taper_middle, "taper_middle"},
    {CriterionFigure::taper_coronal, "taper_coronal"},
    {CriterionFigure::narrowing_towards_crown_mm, "narrowing_towards_crown_mm"},
    {CriterionFigure::taper_step_mm, "taper_step_mm"},
    {CriterionFigure::material_beyond_apex_mm, "material_beyond_apex_mm"},
    {CriterionFigure::width_against_plan_mm, "width_against_plan_mm"},
    {CriterionFigure::terminus_to_working_length_mm, "terminus_to_working_length_mm"},
    {CriterionFigure::filled_length_mm, "filled_length_mm"},
}};

/// The figures that are the largest of all that was found, or their number: only an upper limit can be
/// judged.
bool upper_limit_only(CriterionFigure figure);

/// The limits of an object: at_least or more_than, at_most or less_than. Refuses both words for one end, and
/// limits that leave nothing between them.
struct Limits {
  std::optional<Limit> lower, upper;
};
Limits limits_of(const Field& owner);

VoidSelection void_selection(const Field& field);

}  // namespace canalrule
