#pragma once

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>
#include <string>
#include <vector>

#include "follow.hpp"
#include "unassessable.hpp"

/// What a film doesn't give: figures taken back with their reason, and doubts that leave figures standing.
namespace canalrule {

/// Takes back widths and voids of short pieces between stretches that something else lies over and can't be told apart
/// from the fill: what is wrong there reaches into them. `reason`: of those stretches.
void withhold_scraps(CanalResult& canal, const std::string& reason);

/// Height of a fill near its end over the texture that a blur's reach shows; below `faint_end` its end is doubtful.
/// Chosen here; tests/truth/around_the_end.cpp.
double end_height(const Followed& followed, const FillFit& fit, double mm_per_px);
inline constexpr double faint_end = 2.5;

/// How far a fit moved the end from where it was first found, mm, where that leaves it in doubt; else 0.
double doubtful_travel_mm(const Followed& followed, const FillFit& fit, double mm_per_px);

/// Takes back figures whose place can't be seen, and tells doubts that leave figures standing.
void withhold(CanalResult& canal, const Followed& followed, const FillFit& fit,
              const std::vector<Unassessable>& unassessable, double mm);

/// What is told of a canal whose fill could not be followed: every figure null, with the reason.
CanalResult canal_without_figures(const FilmOnBench& film, const ScaleResult& scale, const CanalMarks& marks,
                                  const FollowedOrNot& answer);

}  // namespace canalrule
