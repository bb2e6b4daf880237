#pragma once

#include <canalrule/record/feedback.hpp>

#include "fields.hpp"

/// The words of the feedback file, said once for its reader and for what writes marks.
namespace canalrule {

inline constexpr Words<Fault, fault_count> fault_words{{
    {Fault::ends_short, "ends-short"},
    {Fault::canal_seen_empty, "canal-seen-empty"},
    {Fault::ends_close_to_apex, "ends-close-to-apex"},
    {Fault::fill_beyond_apex, "fill-beyond-apex"},
    {Fault::material_beyond_apex, "material-beyond-apex"},
    {Fault::gap_at_backfill, "gap-at-backfill"},
    {Fault::gap_across, "gap-across"},
    {Fault::bubble_inside, "bubble-inside"},
    {Fault::gap_along_wall, "gap-along-wall"},
    {Fault::narrowing_towards_crown, "narrowing-towards-crown"},
    {Fault::step_of_width, "step-of-width"},
    {Fault::taper_small, "taper-small"},
    {Fault::taper_large, "taper-large"},
    {Fault::narrower_than_planned, "narrower-than-planned"},
    {Fault::wider_than_planned, "wider-than-planned"},
    {Fault::short_of_working_length, "short-of-working-length"},
    {Fault::past_working_length, "past-working-length"},
    {Fault::fill_too_low, "fill-too-low"},
    {Fault::fill_too_high, "fill-too-high"},
    {Fault::film_low_contrast, "film-low-contrast"},
    {Fault::film_blurred, "film-blurred"},
    {Fault::apex_at_film_edge, "apex-at-film-edge"},
}};
inline constexpr Words<Technique, technique_count> technique_words{
    {{Technique::any, "any"},
     {Technique::warm_vertical, "warm-vertical"},
     {Technique::lateral, "lateral"},
     {Technique::single_cone, "single-cone"}}};

}  // namespace canalrule
