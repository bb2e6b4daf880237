#pragma once

#include <canalrule/cases/open_case.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

namespace canalrule {

/// An object of known length, in the order of the reading's marks.
struct KnownObject {
  enum class Seen {
    no,    ///< nothing that can be told from a landmark of the tooth
    line,  ///< a thin radiopaque line from end to end, which goes on past one of them
    shaft  ///< a hand instrument: its tip and its shaft
  };
  Seen seen = Seen::no;
  Polyline points;  ///< of a shaft from its stop to its tip, of a line on it; else as drawn
};

/// The scale of a case's film from its marks, or from the film's own spacing where there are none, by
/// the weighted mean of all that is known (JCGM 100:2008, 5.1; the pooled uncertainty is widened by the
/// Birge ratio where the contributions disagree). The tip and the stop of an instrument are set on the film
/// where it shows them. `warnings` hold what a person should know of it.
struct ScaleFound {
  ScaleResult scale;
  std::vector<Note> warnings;
  std::vector<KnownObject> objects;
};

/// Refuses (unusable_input, field /scale) a case with neither marks nor spacing, or by which no film is measured.
ScaleFound find_scale(const Case& opened);

}  // namespace canalrule
