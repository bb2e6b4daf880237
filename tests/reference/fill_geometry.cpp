// Cones of standard geometry, and the identities of a chord and of a Gaussian edge:
// - d(x) = d0 + T x, x mm from the tip (ISO 3630-1 / ISO 6877 geometry, from memory): 25/0.02 is 0.27, 0.31,
// 0.37, 0.57 mm
//   at 1, 3, 6, 16 mm; 40/0.04 is 0.44, 0.52, 0.64, 1.04 mm; a cone of 0.25 mm tip cut for a 0.08 preparation
//   is 0.65 mm at 5 mm (common practice, no source);
// - a round fill's excess across its axis is a chord: its integral pi r^2, its peak 2 r, its half-maximum
// width
//   sqrt(3)/2 = 0.866 of the diameter;
// - an edge blurred by a Gaussian of standard deviation s: 10-90 % width 2.563 s, line spread 2.355 s wide at
// half its
//   height, MTF exp(-2 pi^2 s^2 f^2), so that s = 0.03 mm has 50 % at 6.25 and 10 % at 11.38 line pairs per
//   mm.
#include "fill_model.hpp"

#include <cmath>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

/// A straight fill of one radius, cut flat at s = 0, so faint that blurring its exposure is blurring its
/// thickness.
FillModel cylinder(double radius_px, double blur_px) {
  FillModel model;
  model.radius_basis = LocalBasis::over(-100.0, 200.0, 50.0);
  model.centre_basis = model.radius_basis;
  model.radius.assign(static_cast<std::size_t>(model.radius_basis.count), radius_px);
  model.centre.assign(static_cast<std::size_t>(model.centre_basis.count), 0.0);
  model.absorption = 1e-7;
  model.contrast = 3.0;
  model.blur_px = blur_px;
  model.end_px = 0.0;
  model.cap_px = 0.0;
  return model;
}

/// Where values that rise, evenly spaced by `step` from `first`, pass a level.
double crossing(const std::vector<double>& values, double first, double step, double level) {
  for (std::size_t i = 1; i < values.size(); ++i)
    if (values[i - 1] < level && values[i] >= level)
      return first +
             step * (static_cast<double>(i - 1) + (level - values[i - 1]) / (values[i] - values[i - 1]));
  return std::nan("");
}

std::vector<double> column_of(const cv::Mat& map, int column) {
  std::vector<double> values;
  for (int i = 0; i < map.rows; ++i) values.push_back(map.at<double>(i, column));
  return values;
}

std::vector<double> row_of(const cv::Mat& map, int row) {
  const double* first = map.ptr<double>(row);
  return {first, first + map.cols};
}

double sum_of(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double v : values) sum += v;
  return sum;
}

/// Full width at half of the maximum of a hump about nought.
double half_maximum_width(const std::vector<double>& values, double first, double step) {
  double top = 0.0;
  for (const double v : values) top = std::fmax(top, v);
  std::vector<double> mirrored(values.rbegin(), values.rend());
  const double last = first + step * static_cast<double>(values.size() - 1);
  return -crossing(mirrored, -last, step, 0.5 * top) - crossing(values, first, step, 0.5 * top);
}

struct Cone {
  double tip_mm = 0.0, taper = 0.0;
  std::vector<std::pair<double, double>> diameter_at;  ///< mm from the tip, mm
};

phantom::Description film_of(const Cone& cone) {
  phantom::Description d;
  d.seed = 8;
  d.jaw.texture = 0.0;
  d.jaw.crest_mm = 17.5;
  d.tooth.crown.root_length_mm = 19.0;
  d.tooth.apex_y = 0.82;
  d.detector.rows = 1200;
  d.detector.bits = 16;
  d.detector.window_low = 0.0;  // nothing is clipped
  d.detector.window_high = 4.5;
  d.beam.scatter_to_primary = 0.05;
  phantom::Fill fill;
  fill.terminus_mm = 1.0;
  fill.coronal_mm = 18.5;
  fill.tip_diameter_mm = cone.tip_mm;
  fill.taper = cone.taper;
  d.canals.front().fill = fill;
  d.canals.front().foramen_mm = 0.15;
  d.canals.front().unfilled_taper = 0.02;
  return d;
}

}  // namespace

TEST_CASE("cones of standard geometry are measured to 0.02 mm and within what is stated") {
  for (const Cone& cone :
       {Cone{0.25, 0.02, {{1, 0.27}, {3, 0.31}, {6, 0.37}, {16, 0.57}}}, Cone{0.25, 0.08, {{5, 0.65}}},
        Cone{0.40, 0.04, {{1, 0.44}, {3, 0.52}, {6, 0.64}, {16, 1.04}}}}) {
    CAPTURE(cone.tip_mm);
    CAPTURE(cone.taper);
    const Measured film = measured(film_of(cone));
    const CanalResult& canal = film.result.canals.front();
    REQUIRE(canal.terminus.has_value());
    for (const auto& place : cone.diameter_at) {
      const double from_tip = place.first;
      const double diameter = place.second;
      CAPTURE(from_tip);
      // The canal is straight and upright: 1 mm and so much more from the apex.
      const double at_mm = 1.0 + from_tip;
      bool met = false;
      for (const WidthAt& one : canal.width) {
        if (std::fabs(one.at_mm - at_mm) > 1e-6) continue;
        met = true;
        const double error = one.width_mm - diameter;
        CHECK_MESSAGE(std::fabs(error) <= 0.02, "error " << error << " mm");
        CHECK_MESSAGE(std::fabs(error) <= 2.0 * one.standard_uncertainty_mm,
                      "error " << error << " mm, stated " << one.standard_uncertainty_mm);
      }
      CHECK(met);
    }
    REQUIRE(canal.taper.overall.has_value());
    CHECK(std::fabs(canal.taper.overall->value - cone.taper) <= 0.002);
    CHECK(std::fabs(canal.taper.overall->value - cone.taper) <=
          2.0 * canal.taper.overall->standard_uncertainty);
  }
}

TEST_CASE("the model across a fill is a chord: integral, peak and half-maximum width") {
  for (const double radius : {4.0, 9.5}) {
    const StripGrid grid{20.0, -30.0, 0.05, 1, 1201};
    const std::vector<double> across = row_of(draw_model(cylinder(radius, 0.02), grid).value, 0);
    double top = 0.0;
    for (const double v : across) top = std::fmax(top, v);
    CHECK(sum_of(across) * grid.step_px / 3.0 ==
          doctest::Approx(std::numbers::pi * radius * radius).epsilon(1e-4));
    CHECK(top / 3.0 == doctest::Approx(2.0 * radius).epsilon(1e-4));
    CHECK(half_maximum_width(across, grid.first_n_px, grid.step_px) / (2.0 * radius) ==
          doctest::Approx(std::sqrt(3.0) / 2.0).epsilon(1e-3));
  }
}

TEST_CASE("blur leaves the chord's integral as it is") {
  for (const double blur : {0.5, 1.5, 3.0}) {
    const StripGrid grid{20.0, -30.0, 0.5, 1, 121};
    const std::vector<double> across = row_of(draw_model(cylinder(6.0, blur), grid).value, 0);
    CHECK(sum_of(across) * grid.step_px / 3.0 == doctest::Approx(std::numbers::pi * 36.0).epsilon(2e-4));
  }
}

TEST_CASE("the model along a fill cut flat is a Gaussian edge") {
  const double blur = 4.0;
  const StripGrid grid{-30.0, 0.0, 0.25, 241, 1};
  const ModelMaps maps = draw_model(cylinder(200.0, blur), grid);
  const std::vector<double> edge = column_of(maps.value, 0);
  const double plateau = edge.back();
  const auto at = [&](double share) {
    return crossing(edge, grid.first_s_px, grid.step_px, share * plateau);
  };
  CHECK((at(0.9) - at(0.1)) / blur == doctest::Approx(2.563).epsilon(0.002));
  CHECK(std::fabs(at(0.5)) < 0.01);  // the edge's middle is the very end

  // Moving the end moves the edge: its derivative is the line spread, upside down.
  std::vector<double> spread = column_of(maps.by_end, 0);
  for (double& v : spread) v = -v;
  CHECK(half_maximum_width(spread, grid.first_s_px, grid.step_px) / blur ==
        doctest::Approx(2.355).epsilon(0.002));
  const double area = sum_of(spread) * grid.step_px;
  CHECK(area == doctest::Approx(plateau).epsilon(1e-3));

  // With 4 px of blur for 0.03 mm, a line pair per mm is 0.03 / 4 cycles a pixel.
  const auto mtf = [&](double line_pairs_per_mm) {
    double cosine = 0.0;
    for (std::size_t i = 0; i < spread.size(); ++i)
      cosine += spread[i] * std::cos(2.0 * std::numbers::pi * line_pairs_per_mm * (0.03 / blur) *
                                     (grid.first_s_px + grid.step_px * static_cast<double>(i)));
    return cosine * grid.step_px / area;
  };
  CHECK(mtf(6.25) == doctest::Approx(0.5).epsilon(0.005));
  CHECK(mtf(11.38) == doctest::Approx(0.1).epsilon(0.02));
}
