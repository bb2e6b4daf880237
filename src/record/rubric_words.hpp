#pragma once

#include <canalrule/record/rubric.hpp>

#include "fields.hpp"

/// The words of a rubric, said once for its reader and for what writes marks.
namespace canalrule {

inline constexpr Words<FilmFigure, 3> film_figure_words{
    {{FilmFigure::contrast_to_texture, "contrast_to_texture"},
     {FilmFigure::blur_mm, "blur_mm"},
     {FilmFigure::bone_beyond_apex_mm, "bone_beyond_apex_mm"}}};
inline constexpr Words<CloseCall, 4> close_call_words{
    {{CloseCall::benefit_of_the_doubt, "benefit-of-the-doubt"},
     {CloseCall::nearest_band, "nearest-band"},
     {CloseCall::expected_points, "expected-points"},
     {CloseCall::no_benefit, "no-benefit"}}};
inline constexpr Words<Unassessed, 3> unassessed_words{{{Unassessed::left_out, "left-out"},
                                                        {Unassessed::full_points, "full-points"},
                                                        {Unassessed::no_points, "no-points"}}};
inline constexpr Words<SeveralCanals, 2> several_canals_words{
    {{SeveralCanals::worst, "worst"}, {SeveralCanals::mean, "mean"}}};

/// The figure that a field names, of the canal or of the film.
RubricFigure figure_of(const Field& field);
std::string_view word_of(const RubricFigure& figure);

}  // namespace canalrule
