// Schneider's angle (Oral Surg. 1971;32:271-275) on drawn canals whose angle can be worked out by hand.
#include "curvature.hpp"

#include <cmath>
#include <numbers>
#include <random>

#include <doctest/doctest.h>

using namespace canalrule;

namespace {

constexpr double degree = std::numbers::pi / 180.0;

CanalMarks marks_of(const Polyline& path) {
  CanalMarks marks;
  marks.path = path;
  marks.apex = path.back();
  return marks;
}

/// Straight down for 240 px, then bent by `angle` at once and straight on for 160 px.
Polyline kneed(double angle) {
  Polyline path;
  for (int y = 0; y <= 240; y += 20) path.push_back({200.0, 40.0 + y});
  for (int run = 20; run <= 160; run += 20)
    path.push_back({200.0 + run * std::sin(angle), 280.0 + run * std::cos(angle)});
  return path;
}

/// Straight down for 300 px, then round a circle of `radius` px through `angle`.
Polyline rounded(double radius, double angle) {
  Polyline path;
  for (int y = 0; y <= 300; y += 25) path.push_back({200.0, 40.0 + y});
  for (int k = 1; k <= 10; ++k) {
    const double a = angle * k / 10.0;
    path.push_back({200.0 + radius * (1.0 - std::cos(a)), 340.0 + radius * std::sin(a)});
  }
  return path;
}

}  // namespace

TEST_CASE("a straight canal has no angle, however it lies") {
  for (const double turn : {0.0, 33.0, 90.0, 171.0}) {
    Polyline path;
    for (int k = 0; k < 6; ++k)
      path.push_back(
          {300.0 + 80.0 * k * std::sin(turn * degree), 300.0 + 80.0 * k * std::cos(turn * degree)});
    const auto angle = schneider_angle(marks_of(path), 1.0, 0.03);
    REQUIRE(angle.has_value());
    CHECK(angle->value < 0.1);
  }
}

TEST_CASE("a knee's angle is the knee's") {
  for (const double bend : {15.0, 25.0, 40.0}) {
    const auto angle = schneider_angle(marks_of(kneed(bend * degree)), 1.0, 0.03);
    REQUIRE(angle.has_value());
    CHECK(std::fabs(angle->value - bend) < 1.0);
    CHECK(angle->standard_uncertainty > 0.0);
  }
}

TEST_CASE("an even bend's angle is that between the axis and the chord from where the canal leaves it") {
  // The canal leaves its axis, by 0.1 mm, at the angle a with radius (1 - cos a) = 0.1 mm; the chord from there to
  // the end of the bend lies at the mean of both angles (tangent-chord angle).
  for (const double bend : {20.0, 45.0}) {
    const double radius = 320.0;
    const double leaves = std::acos(1.0 - 0.1 / 0.03 / radius) / degree;
    const auto angle = schneider_angle(marks_of(rounded(radius, bend * degree)), 1.0, 0.03);
    REQUIRE(angle.has_value());
    CHECK(std::fabs(angle->value - 0.5 * (leaves + bend)) < 1.0);
  }
}

TEST_CASE("to which side it bends does not matter") {
  Polyline mirrored = kneed(25.0 * degree);
  for (Point& p : mirrored) p.x = 400.0 - p.x;
  CHECK(schneider_angle(marks_of(mirrored), 1.0, 0.03)->value ==
        doctest::Approx(schneider_angle(marks_of(kneed(25.0 * degree)), 1.0, 0.03)->value).epsilon(1e-6));
}

TEST_CASE("rows taller than columns leave the angle as it is") {
  Polyline tall = kneed(25.0 * degree);
  for (Point& p : tall) p.y /= 1.25;
  CHECK(schneider_angle(marks_of(tall), 1.25, 0.03)->value ==
        doctest::Approx(schneider_angle(marks_of(kneed(25.0 * degree)), 1.0, 0.03)->value).epsilon(1e-6));
}

TEST_CASE("pixels half as large leave the angle as it is") {
  const Polyline bend = rounded(320.0, 45.0 * degree);
  Polyline finer = bend;
  for (Point& p : finer) p = {2.0 * p.x, 2.0 * p.y};
  CHECK(schneider_angle(marks_of(finer), 1.0, 0.015)->value ==
        doctest::Approx(schneider_angle(marks_of(bend), 1.0, 0.03)->value).scale(0.0).epsilon(0.1));
}

TEST_CASE("a hand's jitter of 3 px moves it within twice its stated uncertainty, 19 times of 20") {
  std::mt19937_64 engine(11);
  const auto jitter = [&] {  // even over +-3 sqrt 3: a standard deviation of 3 px
    return 3.0 * std::sqrt(3.0) * (2.0 * static_cast<double>(engine() >> 11) * 0x1.0p-53 - 1.0);
  };
  int inside = 0;
  for (int hand = 0; hand < 40; ++hand) {
    Polyline path;
    for (const Point& p :
         Polyline{{200.0, 40.0},
                  {200.0, 120.0},
                  {200.0, 200.0},
                  {200.0, 280.0},
                  {200.0 + 80.0 * std::sin(30.0 * degree), 280.0 + 80.0 * std::cos(30.0 * degree)},
                  {200.0 + 160.0 * std::sin(30.0 * degree), 280.0 + 160.0 * std::cos(30.0 * degree)}})
      path.push_back({p.x + jitter(), p.y + jitter()});
    const auto angle = schneider_angle(marks_of(path), 1.0, 0.03);
    REQUIRE(angle.has_value());
    if (std::fabs(angle->value - 30.0) <= 2.0 * angle->standard_uncertainty) ++inside;
  }
  CHECK(inside >= 38);
}

TEST_CASE("a path of a few pixels has no angle at all") {
  CHECK_FALSE(schneider_angle(marks_of({{10.0, 10.0}, {12.0, 14.0}}), 1.0, 0.03).has_value());
}
