#pragma once

#include <vector>

#include "follow.hpp"
#include "voids.hpp"

namespace canalrule {

/// A fill's outline where nothing of it is missing, and its voids.
struct Outline {
  FillFit fit;
  std::vector<VoidFound> voids;
};

/// Fits the outline without the voids and finds these beside it. `blocked`: stretches that can't serve; `unseen`: those
/// in which no void can be told.
Outline outline_beside_voids(const FilmOnBench& film, const Followed& followed, const Stretches& blocked,
                             const Stretches& unseen);

/// The voids beside an outline as it was fitted; not what is a step of its width.
std::vector<VoidFound> voids_beside(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                    const Stretches& unseen);

/// What is left out of an outline for voids that are sure.
Stretches stretches_of(const std::vector<VoidFound>& voids, double mm_per_px);

}  // namespace canalrule
