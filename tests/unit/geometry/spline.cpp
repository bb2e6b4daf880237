#include <canalrule/geometry/spline.hpp>

#include <doctest/doctest.h>

using canalrule::NaturalSpline;

TEST_CASE("two knots make a straight line, beyond them too") {
  const NaturalSpline line({1.0, 3.0}, {5.0, 9.0});
  for (const double t : {-4.0, 1.0, 2.2, 3.0, 11.0}) {
    CHECK(line.value(t) == doctest::Approx(3.0 + 2.0 * t));
    CHECK(line.slope(t) == doctest::Approx(2.0));
  }
}

TEST_CASE("three knots, worked by hand") {
  // Through (0, 0), (1, 1), (2, 0): the inner second derivative M solves 4 M = 6 (-1 - 1), M = -3, so
  // that on [0, 1] y = 1.5 t - 0.5 t^3.
  const NaturalSpline hump({0.0, 1.0, 2.0}, {0.0, 1.0, 0.0});
  CHECK(hump.value(0.5) == doctest::Approx(1.5 * 0.5 - 0.5 * 0.125));
  CHECK(hump.value(1.5) == doctest::Approx(1.5 * 0.5 - 0.5 * 0.125));
  CHECK(hump.slope(0.0) == doctest::Approx(1.5));
  CHECK(hump.slope(1.0) == doctest::Approx(0.0));
  CHECK(hump.value(-2.0) == doctest::Approx(-3.0));
  CHECK(hump.value(4.0) == doctest::Approx(-3.0));
}

TEST_CASE("its knots are met and a straight line stays one") {
  const std::vector<double> t{0.0, 0.3, 2.0, 2.5, 7.0};
  std::vector<double> y;
  for (const double x : t) y.push_back(4.0 - 1.5 * x);
  const NaturalSpline line(t, y);
  for (const double x : {0.0, 0.3, 1.1, 2.5, 6.0, 7.0})
    CHECK(line.value(x) == doctest::Approx(4.0 - 1.5 * x));
}
