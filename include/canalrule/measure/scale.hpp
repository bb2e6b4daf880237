#pragma once

#include <canalrule/cases/open_case.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

namespace canalrule {

/// A hand instrument that gives the scale, as the film shows it.
struct InstrumentSeen {
  Polyline points;  ///< from its stop to its tip
};

/// The scale of a case's film from its marks, or from the film's own spacing where there are none, by
/// the weighted mean of all that is known (JCGM 100:2008, 5.1; the pooled uncertainty is widened by the
/// Birge ratio where the contributions disagree). The tip and the stop of an instrument are set on the film
/// where it shows them. `warnings` hold what a person should know of it.
struct ScaleFound {
  ScaleResult scale;
  std::vector<Note> warnings;
  std::vector<InstrumentSeen> instruments;
};

/// Refuses (unusable_input, field /scale) a case with neither marks nor spacing, or by which no film is measured.
ScaleFound find_scale(const Case& opened);

}  // namespace canalrule
