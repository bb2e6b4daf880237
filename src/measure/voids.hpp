#pragma once

#include <canalrule/record/result.hpp>
#include <optional>
#include <utility>
#include <vector>

#include "follow.hpp"

namespace canalrule {

/// A place in the fill that attenuates less than the fill beside it; s in px.
struct VoidFound {
  double from_px = 0.0, to_px = 0.0;
  double u_length_px = 0.0;
  double soft_px = 0.0;    ///< Gaussian standard deviation of its ends as they show
  double offset_px = 0.0;  ///< of its middle from the strip's axis
  double width_px = 0.0, u_width_px = 0.0;
  double deficit = 0.0, u_deficit = 0.0;
  double score = 0.0;
  VoidKind kind = VoidKind::across;
};

/// Matched filters over a range of sizes on what the fit left over: across the canal, inside it, along
/// one wall. Scores are corrected for the number of places looked at, sqrt(z^2 - 2 ln N). `rows_out`:
/// stretches that can't be judged. Strongest first.
std::vector<VoidFound> find_voids(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                  const std::vector<std::pair<double, double>>& rows_out);

/// A gap across the canal with its middle between two places that takes more of the fill than the root's surface can;
/// or nothing.
std::optional<VoidFound> parting_gap(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                     double from_px, double to_px);

}  // namespace canalrule
