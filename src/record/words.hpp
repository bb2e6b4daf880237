#pragma once

#include <canalrule/base/grey.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

#include "fields.hpp"

/// The words of the records for what the program has enumerations for, said once for reader and writer.
namespace canalrule {

inline constexpr Words<Response, 3> response_words{{
    {Response::log, "log"}, {Response::linear, "linear"}, {Response::display, "display"}}};
inline constexpr Words<Radiopaque, 2> radiopaque_words{{
    {Radiopaque::bright, "bright"}, {Radiopaque::dark, "dark"}}};
inline constexpr Words<LineSource, 2> line_words{
    {{LineSource::drawn, "drawn"}, {LineSource::proposed, "proposed"}}};
inline constexpr Words<Side, 3> side_words{
    {{Side::short_of, "short"}, {Side::at, "at"}, {Side::beyond, "beyond"}}};
inline constexpr Words<VoidKind, 3> void_kind_words{{
    {VoidKind::across, "across"}, {VoidKind::inside, "inside"}, {VoidKind::along_wall, "along-wall"}}};
inline constexpr Words<Third, 3> third_words{{
    {Third::apical, "apical"}, {Third::middle, "middle"}, {Third::coronal, "coronal"}}};
inline constexpr Words<Verdict, 4> verdict_words{{
    {Verdict::within, "within"}, {Verdict::outside, "outside"},
    {Verdict::too_close_to_call, "too-close-to-call"}, {Verdict::not_assessable, "not-assessable"}}};

}  // namespace canalrule
