#pragma once

#include <canalrule/record/result.hpp>
#include <optional>
#include <vector>

#include "follow.hpp"

namespace canalrule {

/// What the model itself can't follow of a width (the blur's true shape, scatter, the fill's own
/// unevenness): standard uncertainty, mm, alike over about 2 mm of canal. Chosen here;
/// tests/truth/width.cpp and taper.cpp hold it.
inline constexpr double model_width_mm = 0.002;

/// The fill's diameter, row by row: what the fit says plus what it left over, so that the fit's own
/// smoothness does not count. Lengths in px.
struct Diameters {
  std::vector<double> s_px;
  std::vector<double> diameter_px;
  std::vector<double> weight;           ///< inverse variance of independent rows; 0 where a row can't serve
  std::vector<double> autocorrelation;  ///< of the rows' errors
  double texture_reach = 1.0;           ///< times by which texture that reaches farther than a knot widens variances
  LocalBasis radius_basis;              ///< of the fitted radius, which follows errors over long stretches
  cv::Mat radius_covariance;            ///< CV_64FC1, of its coefficients, px^2
};

Diameters row_diameters(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                        const std::vector<std::pair<double, double>>& rows_out);

/// Weighted straight line through the diameters within [from, to]: its slope, mm per mm where both
/// scales are equal, and the slope's standard uncertainty. Nothing where under 1 mm of fill serves.
std::optional<Quantity> taper_between(const Diameters& rows, double from_px, double to_px, double mm_per_px);

/// Steps and kinks that a straight line doesn't explain (Bayesian information criterion), and the
/// largest fall towards the crown: of the diameters smoothed over half a millimetre, or, where more, of one of the
/// steps, which smoothing takes part of.
std::vector<TaperBreak> find_breaks(const Diameters& rows, double mm_along, double mm_across);
std::optional<Reversal> largest_reversal(const Diameters& rows, const std::vector<TaperBreak>& breaks, double mm_along,
                                         double mm_across);

}  // namespace canalrule
