// Where one wall of an outline draws in, and how its centre is led through there: outlines drawn here along a circular
// arc, in numbers of our own. The path itself follows what is missing, as a line through the middle of a fill does.
#include "notches.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace canalrule;

namespace {

constexpr double mm = 0.03, knots_px = 0.5 / mm;
constexpr double end_mm = 1.0, coronal_mm = 11.0;
constexpr double notch_mm = 6.0, half_mm = 0.8;  ///< its middle and half its length
constexpr double arc_mm = 25.0;                  ///< radius of the canal's bend

struct Walls {
  double left_mm = 0.0, right_mm = 0.0;  ///< how far each draws in within the notch
};

double within(double s_mm) {
  const double x = (s_mm - notch_mm) / half_mm;
  return std::fabs(x) < 1.0 ? 1.0 - std::pow(x, 6) : 0.0;
}

/// A place on the arc, n mm to the right of a walk towards the crown.
Point on_arc(double s_mm, double n_mm) {
  const double turned = s_mm / arc_mm, radius = (arc_mm - n_mm) / mm;
  return {100.0 + arc_mm / mm - radius * std::cos(turned), 500.0 - radius * std::sin(turned)};
}

/// How far the middle between the walls lies to the right.
double middle_mm(const Walls& walls, double s_mm) { return 0.5 * (walls.left_mm - walls.right_mm) * within(s_mm); }

CanalPath path_of(const Walls& walls) {
  Polyline points;
  for (double s = 13.0; s > -0.1; s -= 0.25) points.push_back(on_arc(s, middle_mm(walls, s)));
  return CanalPath(points, on_arc(0.0, 0.0), 1.0);
}

/// The outline that a fit gives: its centre stays on the path.
FillModel outline_of(const Walls& walls) {
  FillModel model;
  model.end_px = end_mm / mm;
  model.cap_px = 0.15 / mm;
  for (LocalBasis* basis : {&model.radius_basis, &model.centre_basis})
    *basis = LocalBasis::over(0.0, 12.0 / mm, knots_px);
  for (int k = 0; k < model.radius_basis.count; ++k) {
    const double s = model.radius_basis.coefficient_at(static_cast<std::size_t>(k)) * mm;
    const double narrower = 0.5 * (walls.left_mm + walls.right_mm) * within(s);
    model.radius.push_back((0.15 + 0.02 * s - narrower) / mm);
  }
  model.centre.assign(static_cast<std::size_t>(model.centre_basis.count), 0.0);
  return model;
}

Stretches notches_of(const Walls& walls) {
  return notches(outline_of(walls), path_of(walls), coronal_mm / mm, mm);
}

}  // namespace

TEST_CASE("one wall that draws in is a notch, to either side") {
  for (const Walls& walls : {Walls{0.1, 0.0}, Walls{0.0, 0.1}}) {
    const Stretches found = notches_of(walls);
    REQUIRE(found.size() == 1);
    CHECK(found.front().first * mm == doctest::Approx(notch_mm - half_mm).epsilon(0.05));
    CHECK(found.front().second * mm == doctest::Approx(notch_mm + half_mm).epsilon(0.05));
  }
}

TEST_CASE("a fill that is narrower to both sides, or moved aside, or even, has no notch") {
  for (const Walls& walls : {Walls{0.06, 0.06}, Walls{0.06, -0.06}, Walls{0.0, 0.0}, Walls{0.02, 0.0}}) {
    CAPTURE(walls.left_mm);
    CAPTURE(walls.right_mm);
    CHECK(notches_of(walls).empty());
  }
}

TEST_CASE("through a notch the centre is led along the arc, though the path follows what is missing") {
  const Walls walls{0.12, 0.0};
  const CanalPath path = path_of(walls);
  const Stretches out{{(notch_mm - half_mm - 0.1) / mm, (notch_mm + half_mm + 0.1) / mm}};
  const FillModel led = led_across(outline_of(walls), path, coronal_mm / mm, out, mm);
  // The path is 0.06 mm off there; a spline with a knot every half a millimetre follows its turns to a fifth of that.
  for (const double s : {notch_mm - 0.5, notch_mm, notch_mm + 0.5}) {
    CAPTURE(s);
    CHECK(std::fabs(led.centre_px(s / mm) * mm + middle_mm(walls, s)) < 0.012);
  }
  CHECK(led.centre_px(3.0 / mm) == 0.0);
}

TEST_CASE("where the fill is seen to one side of a stretch only, the centre stays as it was") {
  const Walls walls{0.0, 0.0};
  const FillModel model = outline_of(walls);
  const Stretches out{{(end_mm + 0.1) / mm, (end_mm + 1.0) / mm}};
  CHECK(led_across(model, path_of(walls), coronal_mm / mm, out, mm).centre == model.centre);
}
