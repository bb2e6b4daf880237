#pragma once

#include <optional>

#include <canalrule/base/point.hpp>
#include <canalrule/film/film.hpp>

namespace canalrule::desk {

/// A line from `orifice` to `apex` along the radiopaque fill between them: the path of least cost (Cohen and
/// Kimmel, Int. J. Comput. Vis. 1997;24:57-78) through the film's ridges, in 4 to 12 points, the first and
/// the last as given. `radiopaque`: where neither the reading nor the film says it, the end that makes the
/// stronger ridge is taken. Nothing where the two are less than 10 px apart or where one lies off the film.
/// About 30 ms on a film of any size; safe to call from another thread.
std::optional<Polyline> propose_line(const Film& film, std::optional<Radiopaque> radiopaque, Point orifice,
                                     Point apex);

}  // namespace canalrule::desk
