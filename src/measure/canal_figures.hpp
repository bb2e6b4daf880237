#pragma once

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

#include "follow.hpp"
#include "unassessable.hpp"
#include "view.hpp"

namespace canalrule {

/// Distance along the canal between places at which widths are told, mm: the contract's stations.
inline constexpr double width_every_mm = 0.25;

/// The same of the centre line's points.
inline constexpr double centre_every_mm = 0.25;

/// All figures of one canal that was followed. `view`: what the scale may be wrong by at this canal.
CanalResult canal_figures(const FilmOnBench& film, const ScaleResult& scale, const ViewShare& view,
                          const CanalMarks& marks, Followed followed,
                          const std::vector<Unassessable>& unassessable);

}  // namespace canalrule
