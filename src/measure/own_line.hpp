#pragma once

#include "follow.hpp"

namespace canalrule {

/// A canal's line from its crown to its apex, and where that is taken to lie: where it is marked, or its foot there.
struct OwnLine {
  Polyline points;
  Point apex;
};

/// The fill's centre line from its coronal end to its tip, and where it ends short of the apex, on to that: from the
/// tip straight on, bending ever less, and aside of that as far as the points drawn there say together.
/// `path`: what the model runs along.
OwnLine own_line(const FilmOnBench& film, const CanalMarks& marks, const CanalPath& path, const FillModel& model,
                 double coronal_px);

}  // namespace canalrule
