#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "fill_fit.hpp"

namespace canalrule {

/// Part of a strip as a fit sees it: its rows about the tip as they are, or those of the body in groups, each
/// group's mean as one row.
struct Panel {
  enum class Kind { tip, body } kind = Kind::tip;
  StripGrid columns;       ///< the strip's; its rows serve the tip alone
  BodyRows rows;           ///< where the panel's rows lie
  double strip_rows = 1.0; ///< of the strip in one of the panel's
  cv::Mat film;            ///< CV_64FC1, radiopacity
  cv::Mat other;           ///< CV_64FC1, thickness of other fills, px; or empty
  cv::Mat part;            ///< CV_64FC1, `strip_rows` where a pixel takes part, else 0
  cv::Mat weight;          ///< CV_64FC1, robust weight times part
  cv::Mat residual;        ///< CV_64FC1
  ModelMaps maps;
  double noise = 0.0;  ///< robust standard deviation of the residual
};

/// Rows [first, last) of a strip, `group` together. `part` (CV_64FC1 of the strip's size): 0 leaves a pixel
/// out, and with it the whole group's.
Panel make_panel(Panel::Kind kind, const Strip& strip, const cv::Mat& part, const cv::Mat& other, int first,
                 int last, int group);

ParameterPlaces lay_out(const FillModel& model, const LocalBasis& background);

/// Normal equations of the weighted squares, priors included: the matrix' upper half and the right side.
struct Normal {
  cv::Mat matrix, right;
  double penalty = 0.0;  ///< what the priors add to the cost, in units of squared residual
};

/// Adds a prior on second differences of local coefficients: sum of (c[i-1] - 2 c[i] + c[i+1])^2 / sd^2, in
/// units of `noise2`.
void add_smoothness(Normal& normal, int at, const std::vector<double>& c, double sd, double noise2);

/// A second difference as it is expected.
struct Bend {
  double mean = 0.0, deviation = 1.0;
};

/// The same with its own expectation for each coefficient.
void add_smoothness(Normal& normal, int at, const std::vector<double>& c, const std::vector<Bend>& expected,
                    double noise2);
void add_prior(Normal& normal, int at, double value, double mean, double sd, double noise2);

/// The sum of two parameters is about 0.
void add_sum_prior(Normal& normal, int first, int second, double sum, double sd, double noise2);

/// The film less model, smooth background and each row's own line, by the panel's weights.
cv::Mat residual_of(const Panel& panel, const Background& background);

/// Adds a panel's rows, each with its own level and slope projected out, to the matrix' upper half.
void accumulate(const Panel& panel, const FillModel& model, const Background& background,
                const ParameterPlaces& places, Normal& normal);

}  // namespace canalrule
