#pragma once

#include <canalrule/geometry/strip.hpp>
#include <opencv2/core.hpp>
#include <vector>

#include "film_curve.hpp"
#include "local_basis.hpp"

namespace canalrule {

/// A round fill as a film shows it. Thickness t(s, n) is the chord of a body of radius r(s) about the
/// centre c(s), ending at `end_px` in an elliptic cap. Where it ends short of the apex, s = 0, an empty canal of
/// thickness w, usually darker than dentine, goes on about the cap as the fill's wall does and narrows from there to
/// its foramen at the apex. Both attenuate the exposure, it is blurred, and the film's curve follows (FilmCurve):
///   q = -ln(G * exp(-absorption (t + empty w))) / absorption,   y = curve(q).
/// All lengths in px.
struct FillModel {
  LocalBasis radius_basis, centre_basis;
  std::vector<double> radius, centre;  ///< coefficients, px
  double contrast = 1.0;               ///< radiopacity per px of thickness at `contrast_at_px`
  double contrast_slope = 0.0;         ///< relative change of it over `contrast_span_px` towards the crown
  double contrast_outside = 0.0;       ///< relative change of it where the fill has left the root, at s < 0
  double contrast_by_level = 0.0;      ///< relative change of it by the level beside, per px; 0 where `scattered`
  double contrast_at_px = 0.0, contrast_span_px = 1.0;
  bool scattered = false;    ///< whether scatter bends the film's curve, or something that isn't known
  double bend = 0.0;         ///< per px of thickness; `scattered`: scatter's share f0 times `absorption`
  double turn = 0.0;         ///< px^-2: how a display's curve that bends one way turns to bend the other
  Surroundings beside;       ///< where it is more radiopaque, scatter is more of the exposure; or a display bends on
  double level_unit = 1.0;   ///< radiopacity of `beside` that stands for a px of thickness, fixed
  double absorption = 0.01;  ///< per px of thickness, fixed
  double blur_px = 1.5;      ///< Gaussian standard deviation
  double apex_soft_px = 3.0; ///< over which the root's end gives way to bone, Gaussian standard deviation
  double end_px = 0.0;       ///< s of the very tip
  double cap_px = 1.0;       ///< length of the rounded tip
  double empty = 0.0;        ///< radiopacity of the empty canal against dentine, as a share of the contrast
  double foramen_px = 4.0;   ///< radius at its foramen, where it isn't narrower at the fill's end
  double empty_width = 1.0;  ///< the empty canal's over the fill's outline where they meet
  bool sharpened = false;    ///< whether edge enhancement is part of the model
  double halo = 0.0;         ///< its strength
  double halo_px = 6.0;      ///< its Gaussian standard deviation

  double radius_px(double s) const;
  double centre_px(double s) const;
};

/// The model on a strip's grid and its derivatives: CV_64FC1, rows x columns. A derivative that is zero
/// throughout is an empty matrix.
struct ModelMaps {
  cv::Mat value;
  cv::Mat by_radius, by_centre;  ///< by r(s) and c(s) of the same row
  cv::Mat by_contrast;           ///< also the fill's own value as a share of the contrast
  cv::Mat by_bend, by_turn, by_blur, by_end, by_cap, by_empty, by_empty_width, by_halo;
  cv::Mat blurred;        ///< thickness q as the film's blur leaves it, px
  cv::Mat per_thickness;  ///< dy/dq
};

/// `other` (CV_64FC1 of the grid's size, or empty): thickness of other fills that lie over this one, px; they
/// take part in the value, and in the blurred thickness.
ModelMaps draw_model(const FillModel& model, const StripGrid& grid, const cv::Mat& other = {});

/// The same without the derivatives, but that by the radius.
ModelMaps draw_values(const FillModel& model, const StripGrid& grid, const cv::Mat& other = {});

/// Rows away from a fill's ends, `row_px` apart along the canal, of a strip's columns. There a fill is so
/// even along its axis that it is blurred across only.
struct BodyRows {
  double first_s_px = 0.0, row_px = 1.0;
  int rows = 0;

  double s_px(double row) const { return first_s_px + row * row_px; }
};
ModelMaps draw_body(const FillModel& model, const BodyRows& rows, const StripGrid& columns,
                    const cv::Mat& other = {});

/// What draw_values gives, onto rows of larger maps: headers of CV_64FC1 of these rows and columns, all written over.
void draw_body_values(const FillModel& model, const BodyRows& rows, const StripGrid& columns, const cv::Mat& other,
                      ModelMaps into);

/// Where s lies along the contrast's slope, how far outside the root, 0 to 1, and the level beside the fill as a
/// thickness, px: the contrast there is contrast * contrast_share = contrast * (1 + contrast_slope * slope_share +
/// contrast_outside * outside_share + contrast_by_level * level_share), the last within bounds.
double slope_share(const FillModel& model, double s);
double outside_share(const FillModel& model, double s);
double level_share(const FillModel& model, double s);
double contrast_share(const FillModel& model, double s);

/// The film's curve in the row at s.
FilmCurve curve_at(const FillModel& model, double s);

}  // namespace canalrule
