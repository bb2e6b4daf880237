#pragma once

#include "follow.hpp"

namespace canalrule {

/// A fit that started elsewhere and came to rest at another end, and by how much less likely it is than the first.
struct OtherEnd {
  FillFit fit;
  double less_likely = 0.0;  ///< half the difference of the sums of squared residuals, in variances
};

/// Where the end of a faint fill may lie as well: fits that start apical and coronal of a fitted end. One that runs
/// back towards the first's end is none. Costs two fits.
std::vector<OtherEnd> other_ends(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                 const Stretches& blocked, const Stretches& voids);

/// Whether another end is so much likelier that it is the fill's.
bool is_likelier(const OtherEnd& other);

/// Standard uncertainty that other ends add to a fitted one's, px.
double spread_over(const std::vector<OtherEnd>& others, double end_px);

}  // namespace canalrule
