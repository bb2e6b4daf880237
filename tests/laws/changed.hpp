#pragma once

#include <canalrule/cases/open_case.hpp>
#include <canalrule/record/result.hpp>

/// Changes of a film, with its reading, that leave the tooth as it is, and what they may do to the figures.
namespace canalrule_test {

canalrule::Case mirrored(const canalrule::Case& opened);

/// Turned clockwise by 1, 2 or 3 times 90 degrees.
canalrule::Case turned(const canalrule::Case& opened, int quarters);

/// What the reading says of an inverted film: the other side is radiopaque, or nothing.
enum class Told { other_side, nothing };
canalrule::Case inverted(const canalrule::Case& opened, Told told);

/// Grey times `gain` plus `offset`, the ends of the scale with it, as DICOM's Rescale does.
canalrule::Case rescaled(const canalrule::Case& opened, double gain, double offset);

/// Grey times `gain` plus `offset`, whole numbers, on a scale of 16 bits. For films whose grey has no
/// meaning at the ends of its scale (`log`, `display`).
canalrule::Case on_wider_scale(const canalrule::Case& opened, int gain, int offset);

/// `across` pixels for each one before along the rows, `down` along the columns: each new pixel is the mean
/// of the old ones under it by area, rounded to whole grey as stored. Unequal factors give pixels taller or
/// wider than square ones, and say so.
canalrule::Case resampled(const canalrule::Case& opened, double across, double down);

/// Less `left` columns and `top` rows.
canalrule::Case cropped(const canalrule::Case& opened, int left, int top);

/// Checks (doctest) that terminus, widths and overall taper of every canal are the same within the combined
/// standard uncertainty of both, apex mark and scale apart, but at least within a third of a 0.03 mm pixel,
/// and 0.001 for the taper: such a pixel over 10 mm of fill.
void check_same_millimetres(const canalrule::Result& before, const canalrule::Result& after);

/// Checks that nothing but the rounding of numbers is different: 0.002 mm, and 0.0005 for the taper.
void check_same_to_rounding(const canalrule::Result& before, const canalrule::Result& after);

}  // namespace canalrule_test
