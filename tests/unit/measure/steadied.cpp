// What a hand's tremble makes of a path of many points, and what is left of it.
#include <doctest/doctest.h>

#include <cmath>

#include "steadied.hpp"

using namespace canalrule;

TEST_CASE("points farther apart than 0.8 mm stay as they were drawn") {
  const Polyline path{{100.0, 900.0}, {103.0, 860.0}, {99.0, 820.0}, {101.0, 780.0}, {100.0, 740.0}};
  const Polyline same = steadied(path, 1.0, 0.03);
  REQUIRE(same.size() == path.size());
  for (std::size_t k = 0; k < path.size(); ++k) CHECK((same[k].x == path[k].x && same[k].y == path[k].y));
}

TEST_CASE("a tremble of 3 px to and fro is taken off, and the line keeps its length") {
  Polyline path;
  for (int k = 0; k <= 60; ++k) path.push_back({100.0 + (k % 2 == 0 ? 3.0 : -3.0), 900.0 - 8.0 * k});
  const Polyline steady = steadied(path, 1.0, 0.03);
  REQUIRE(steady.size() > 10);
  for (const Point& p : steady) CHECK(std::fabs(p.x - 100.0) < 1.5);  // most at the ends, seen from one side
  CHECK(std::fabs(steady.front().y - path.front().y) < 8.0);
  CHECK(std::fabs(steady.back().y - path.back().y) < 8.0);
}

TEST_CASE("an arc keeps its bend") {
  Polyline path;
  constexpr double radius = 270.0;  // 8 mm
  for (int k = 0; k <= 40; ++k) {
    const double angle = 0.02 * k;
    path.push_back({300.0 + radius * std::cos(angle), 300.0 + radius * std::sin(angle)});
  }
  for (const Point& p : steadied(path, 1.0, 0.03))
    CHECK(std::hypot(p.x - 300.0, p.y - 300.0) == doctest::Approx(radius).epsilon(0.004));  // 1 px
}

TEST_CASE("a path that is dense at one end only keeps the other") {
  Polyline path;
  for (int k = 0; k < 40; ++k) path.push_back({100.0 + (k % 2), 900.0 - 2.0 * k});
  path.push_back({110.0, 500.0});
  const Polyline steady = steadied(path, 1.0, 0.03);
  for (std::size_t k = 1; k < steady.size(); ++k) CHECK(steady[k].y < steady[k - 1].y);
  CHECK(steady.back().x == doctest::Approx(110.0));
  CHECK(steady.back().y == doctest::Approx(500.0));
}

TEST_CASE("where a hand paused no direction is made up") {
  Polyline path;
  for (int k = 0; k < 40; ++k) path.push_back({100.0, 900.0 + 0.02 * k});  // away from where it goes on
  for (int k = 1; k <= 10; ++k) path.push_back({100.0, 900.0 - 15.0 * k});
  const Polyline steady = steadied(path, 1.0, 0.03);
  REQUIRE(steady.size() > 3);
  for (std::size_t k = 1; k < steady.size(); ++k) CHECK(steady[k].y < steady[k - 1].y);
}
