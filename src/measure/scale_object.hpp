#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/measure/scale.hpp>
#include <canalrule/record/reading.hpp>
#include <optional>

namespace canalrule {

/// An end of a drawn object, found on the film.
struct EndSeen {
  double moved_px = 0.0;  ///< along the object, > 0: farther out than it was drawn
  double u_px = 0.0;      ///< standard uncertainty along the object
};

/// What the film shows of an object of known length. A hand instrument is known by a thin radiopaque line
/// from one end of the drawing to the other, which ends at one of them (the tip) and goes on past the other
/// (the shaft above the stop). Nothing else is moved: a mark on a tooth or a post stays as drawn.
struct ObjectSeen {
  bool instrument = false;
  KnownObject::Seen seen = KnownObject::Seen::no;  ///< a shaft, whether its stop is seen or not
  Polyline points;                                 ///< as KnownObject
  EndSeen tip, stop;                               ///< of an instrument
};

/// `radiopaque` says which grey is radiopaque; without it the film along the drawing does.
ObjectSeen see_object(const KnownLength& mark, const Film& film, std::optional<Radiopaque> radiopaque,
                      double aspect);

}  // namespace canalrule
