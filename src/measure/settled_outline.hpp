#pragma once

#include <vector>

#include "follow.hpp"
#include "outline.hpp"
#include "unassessable.hpp"

namespace canalrule {

/// A fill whose end is settled: what was pressed out of the root is parted from it, and a faint end was held against
/// others. All figures are taken from it.
struct SettledOutline {
  Followed followed;
  Outline outline;
  Stretches blocked;             ///< stretches of which nothing can be told
  double u_other_ends_mm = 0.0;  ///< standard uncertainty of the end, from others that are as likely
  bool parted = false;           ///< a gap at the root's end parts it from what lies beyond
  bool ends_at_parting = false;  ///< with `parted`: what lies beyond isn't like the fill and is none of it
  bool leaves_root = false;      ///< no void can be told in [leaves_from_mm, leaves_to_mm]
};

/// Where a void can't be told of a fill that leaves the root, mm from the apex, > 0 towards the crown: its surroundings
/// change there. Chosen here; tests/truth/voids.cpp.
inline constexpr double leaves_from_mm = -0.28, leaves_to_mm = 0.2;

SettledOutline settle_outline(const FilmOnBench& film, Followed followed,
                              const std::vector<Unassessable>& unassessable);

}  // namespace canalrule
