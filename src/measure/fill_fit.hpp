#pragma once

#include <canalrule/geometry/strip.hpp>
#include <opencv2/core.hpp>
#include <utility>
#include <vector>

#include "background.hpp"
#include "fill_model.hpp"

namespace canalrule {

/// What an empty canal is expected to show against dentine, as a share of the fill's contrast, and how far
/// it may be from that: fluid in dentine against gutta-percha in it at 40 keV is -0.13 (NIST SRD 126).
inline constexpr double empty_share = -0.08;
inline constexpr double empty_share_deviation = 0.08;

/// Scatter's share of the exposure beside a fill, and how far it may be from that. Chosen here; tests/truth/width.cpp.
inline constexpr double usual_scatter = 0.25;
inline constexpr double scatter_deviation = 0.2;

/// How much the contrast of a round fill of one material may change along it, as a share. Chosen here;
/// tests/truth/terminus.cpp.
inline constexpr double usual_slope = 0.05;

/// What a fit gives besides its model and background: what it left over pixel by pixel, for which the whole film is
/// drawn again at its end, and its parameters' covariance.
enum class FitGives { model, left_over, covariance };

/// How a model is fitted; lengths in mm.
struct FitSettings {
  double mm_per_px = 0.03;
  double flank_mm = 0.55;        ///< background taken on each side of the fill
  double beyond_mm = 0.9;        ///< rows apical of the fill's end
  double end_reach_mm = 0.4;     ///< farthest that the end may move from the first guess
  double kink_mm = 0.02;         ///< prior of the radius' second difference between knots
  double void_kink_mm = 0.005;   ///< the same within a void, where the outline can't be seen
  double centre_kink_mm = 0.05;  ///< prior of the centre line's second difference between knots
  double void_centre_kink_mm = 0.01;  ///< the same within a void, about the start's
  double bend_per_mm = 0.6;      ///< prior of the curve's bend, where it isn't scatter's
  double turn_per_mm2 = 1e-6;    ///< the same of a display's turn; so little keeps it at 0
  double slope_deviation = usual_slope;  ///< prior of the contrast's change along the fill
  double contrast_deviation = 2.0;  ///< prior of the contrast about the first guess, as a share of it
  int rounds = 14;
  int wide_rounds = 3;    ///< in which outliers count with little less weight, while the model may be far off
  double settled = 1e-4;  ///< relative change of the cost below which it counts as settled
  double least_promise = 3e-4;  ///< share of the cost: a step that promises less and fails is the last
  double settled_mm = 0.001;  ///< last step of the end below which it counts as settled, and 1.5 times it of the radius
  FitGives gives = FitGives::covariance;
};

/// Where each kind of parameter stands in the vector of a fit.
struct ParameterPlaces {
  int radius = 0, centre = 0, square = 0, cube = 0;  ///< first of each local kind
  int contrast = 0, slope = 0, outside = 0, by_level = 0, bend = 0, turn = 0, blur = 0, end = 0, cap = 0;
  int empty = 0, empty_width = 0, halo = 0;
  int count = 0;
};

/// What a fitted fill shows on its strip: CV_64FC1, rows x columns (see ModelMaps).
struct FitMaps {
  cv::Mat value, by_radius, blurred, per_thickness;
};

/// A fitted fill. `covariance`, and `residual`, `weight`, `part` and `maps`, are empty where the settings spare them.
struct FillFit {
  FillModel model;
  Background background;
  ParameterPlaces places;
  cv::Mat covariance;               ///< CV_64FC1, count x count; correlation of the noise allowed for
  cv::Mat residual;                 ///< CV_64FC1, film less model and background; 0 outside the fit
  cv::Mat weight;                   ///< CV_64FC1, 0 outside the fit
  cv::Mat part;                     ///< CV_64FC1, 1 where a pixel takes part, whatever its weight
  FitMaps maps;                     ///< of the last model; 0 outside the fit
  double noise = 0.0;               ///< standard deviation of the residual, radiopacity
  double correlation = 1.0;         ///< times by which correlated noise widens variances
  double texture = 0.0;             ///< deviation, its correlation allowed for, as of samples `texture_step_mm` apart
  int first_row = 0, last_row = 0;  ///< rows of the strip that were fitted, [first, last)
  bool converged = false;

  /// Gives the memory of what was drawn of it back: a fit of it that follows starts from the model alone.
  void keep_no_planes() { maps = {}, residual = weight = part = cv::Mat(); }
};

/// Stretches along the canal, pairs of s in px.
using Stretches = std::vector<std::pair<double, double>>;

/// Fits by Levenberg and Marquardt's method with bisquare weights. `mask` (CV_8UC1 of the strip's size):
/// 0 leaves a pixel out. `voids`: stretches in which the fill itself doesn't count, only what lies beside
/// it. `start` gives the first guess; its bases are kept. Each row has a free level and slope across. `other`
/// (CV_64FC1 of the strip's size, or empty): thickness of other fills that lie over this one, px. `beside`: the
/// background of a fit on the same strip, to start from; or empty.
FillFit fit_fill(const Strip& strip, const cv::Mat& mask, const FillModel& start, double coronal_px,
                 const FitSettings& settings, const Stretches& voids = {}, const cv::Mat& other = {},
                 const Background& beside = {});

}  // namespace canalrule
