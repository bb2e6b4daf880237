#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "fill_fit.hpp"

namespace canalrule {

/// What a fit is about: the film, what counts of it, and where each parameter stands.
struct Problem {
  const Strip& strip;
  const FitSettings& settings;
  cv::Mat weight;  ///< robust times mask
  LocalBasis background;
  ParameterPlaces places;
  int first = 0, last = 0;
  double flank_scale = 1.0;  ///< columns' n is divided by this, px
};

ParameterPlaces lay_out(const FillModel& model, const LocalBasis& background);

/// Normal equations of the weighted squares, priors included.
struct Normal {
  cv::Mat matrix, right;
  double penalty = 0.0;  ///< what the priors add to the cost, in units of squared residual
};

/// Adds a prior on second differences of local coefficients: sum of (c[i-1] - 2 c[i] + c[i+1])^2 / sd^2, in
/// units of `noise2`.
void add_smoothness(Normal& normal, int at, const std::vector<double>& c, double sd, double noise2);
void add_prior(Normal& normal, int at, double value, double mean, double sd, double noise2);

/// The film less model, smooth background (coefficients of n^2 and n^3) and each row's own line.
cv::Mat residual_of(const Problem& problem, const cv::Mat& value, const std::vector<double>& square_c,
                    const std::vector<double>& cube_c);

/// Adds one row, its own level and slope projected out.
void accumulate_row(const Problem& problem, const ModelMaps& maps, const cv::Mat& residual, int i,
                    const FillModel& model, Normal& normal);

}  // namespace canalrule
