#pragma once

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

#include "follow.hpp"
#include "view.hpp"
#include "voids.hpp"

namespace canalrule {

/// What of a fill can't be told in a stretch: all figures, or its voids alone.
enum class Hidden { all, voids };

/// Stretches of a canal's fill, in px of s, that can't serve, and why.
struct Unassessable {
  double from_px = 0.0, to_px = 0.0;
  std::string reason;  ///< "overlap", "clipped", "off-film"
  std::string text;
  Hidden hidden = Hidden::all;
  bool tip_inside = false;  ///< the fill's tip lies within what hides it
};

/// Distance along the canal between places at which widths are told, mm: the contract's stations.
inline constexpr double width_every_mm = 0.25;

/// The same of the centre line's points.
inline constexpr double centre_every_mm = 0.25;

/// All figures of one canal that was followed. `view`: what the scale may be wrong by at this canal.
CanalResult canal_figures(const FilmOnBench& film, const ScaleResult& scale, const ViewShare& view,
                          const CanalMarks& marks, Followed followed,
                          const std::vector<Unassessable>& unassessable);

}  // namespace canalrule
