#pragma once

#include <cstdint>
#include <vector>

#include <canalrule/film/film.hpp>

namespace canalrule {

/// One grey level that occurs, and how many usable pixels hold it.
struct Level {
  double grey = 0.0;
  std::int64_t count = 0;
};

/// The levels that occur, darkest first. Greys are told apart to 1/65535 of what the stored bits can hold
/// (of what occurs, for a film in memory that says nothing of its bits). Up to `threads` count side by side.
std::vector<Level> occurring_levels(const Film& film, std::size_t threads = 1);

/// The clipped ends in a histogram; `ends` are the ends of the scale.
struct ClippedEnds {
  std::optional<double> floor;
  std::optional<double> ceiling;
};

ClippedEnds clipped_ends(const std::vector<Level>& levels, const Film& film);

}  // namespace canalrule
