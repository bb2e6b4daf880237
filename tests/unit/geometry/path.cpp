#include <canalrule/geometry/path.hpp>

#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace canalrule;

namespace {

/// `degrees` of a circle about (400, 300) px, from its lowest point leftwards and up: apical end last.
Polyline arc(double radius, double degrees, int count) {
  Polyline points;
  for (int i = 0; i < count; ++i) {
    const double angle = degrees * std::numbers::pi / 180.0 * (1.0 - static_cast<double>(i) / (count - 1));
    points.push_back({400.0 - radius * std::sin(angle), 300.0 + radius * std::cos(angle)});
  }
  return points;
}

}  // namespace

TEST_CASE("a straight path measures from the apex, positive towards the crown") {
  const CanalPath path({{100.0, 50.0}, {100.0, 450.0}}, {100.0, 450.0}, 1.0);
  CHECK(path.first_px() == doctest::Approx(0.0).epsilon(1e-6));
  CHECK(path.last_px() == doctest::Approx(400.0));
  CHECK(path.at(100.0).x == doctest::Approx(100.0));
  CHECK(path.at(100.0).y == doctest::Approx(350.0));
  CHECK(path.direction(200.0).x == doctest::Approx(0.0));
  CHECK(path.direction(200.0).y == doctest::Approx(-1.0));
  // Walking towards the crown, up the film, the right hand is at larger x.
  CHECK(path.at(100.0, 7.0).x == doctest::Approx(107.0));
  CHECK(path.at(100.0, 7.0).y == doctest::Approx(350.0));
}

TEST_CASE("beyond the last drawn points it goes on straight, along its last direction") {
  const CanalPath path({{100.0, 50.0}, {130.0, 250.0}, {190.0, 410.0}}, {190.0, 410.0}, 1.0);
  for (const double end : {path.first_px(), path.last_px()}) {
    const double out = end == path.first_px() ? -1.0 : 1.0;
    const Point from = path.at(end);
    const Point towards = path.direction(end);
    for (const double beyond : {5.0, 80.0}) {
      const Point p = path.at(end + out * beyond);
      CHECK(p.x == doctest::Approx(from.x + out * beyond * towards.x).epsilon(1e-9));
      CHECK(p.y == doctest::Approx(from.y + out * beyond * towards.y).epsilon(1e-9));
      CHECK(path.direction(end + out * beyond).x == doctest::Approx(towards.x).epsilon(1e-9));
    }
  }
}

TEST_CASE("an apex beyond the drawn path is met by the straight continuation") {
  const CanalPath path({{100.0, 50.0}, {100.0, 400.0}}, {103.0, 460.0}, 1.0);
  CHECK(path.first_px() == doctest::Approx(60.0).epsilon(1e-6));
  CHECK(path.at(0.0).y == doctest::Approx(460.0).epsilon(1e-6));
  CHECK(path.at(0.0).x == doctest::Approx(100.0).epsilon(1e-6));
}

TEST_CASE("a path drawn past the apex has its nought within it") {
  const CanalPath path({{100.0, 50.0}, {100.0, 500.0}}, {98.0, 460.0}, 1.0);
  CHECK(path.first_px() == doctest::Approx(-40.0).epsilon(1e-6));
  CHECK(path.last_px() == doctest::Approx(410.0).epsilon(1e-6));
}

TEST_CASE("projection undoes placing, to either side and beyond both ends") {
  const CanalPath path(arc(300.0, 50.0, 6), {400.0, 600.0}, 1.0);
  for (const double s : {path.first_px() - 40.0, 3.0, 77.7, 200.0, path.last_px() + 25.0})
    for (const double n : {-30.0, 0.0, 12.5}) {
      const CanalPath::Projection back = path.project(path.at(s, n));
      CHECK(std::fabs(back.s_px - s) < 1e-4);
      CHECK(std::fabs(back.n_px - n) < 1e-4);
    }
}

TEST_CASE("arc length on a circle of 50 px radius is its angle times its radius") {
  const CanalPath path(arc(50.0, 90.0, 60), {400.0, 350.0}, 1.0);
  const double length = 50.0 * std::numbers::pi / 2.0;
  // The table's chords of a quarter pixel fall short by (0.25 / 50)^2 / 24 = 1.04e-6; the spline through 60
  // points keeps to the circle within 2e-6 but for its free ends.
  CHECK(std::fabs((path.last_px() - path.first_px()) / length - 1.0) < 1e-5);
}

TEST_CASE("points that coincide count once") {
  const CanalPath once({{100.0, 50.0}, {120.0, 200.0}, {100.0, 400.0}}, {100.0, 400.0}, 1.0);
  const CanalPath twice({{100.0, 50.0}, {100.0, 50.0}, {120.0, 200.0}, {120.0, 200.0}, {100.0, 400.0}},
                        {100.0, 400.0}, 1.0);
  CHECK(twice.last_px() == once.last_px());
  CHECK(twice.at(123.0).x == once.at(123.0).x);
}

TEST_CASE("rows taller than columns are stretched before anything is measured") {
  // The same canal on square pixels, and on pixels 1.25 times as tall as wide.
  const double aspect = 1.25;
  const Polyline square{{100.0, 50.0}, {130.0, 250.0}, {190.0, 410.0}};
  Polyline tall;
  for (const Point& p : square) tall.push_back({p.x, p.y / aspect});
  const CanalPath on_square(square, square.back(), 1.0);
  const CanalPath on_tall(tall, tall.back(), aspect);
  CHECK(on_tall.last_px() == doctest::Approx(on_square.last_px()).epsilon(1e-12));
  for (const double s : {-20.0, 0.0, 88.0, 300.0})
    for (const double n : {-9.0, 0.0, 14.0}) {
      CHECK(on_tall.at(s, n).x == doctest::Approx(on_square.at(s, n).x).epsilon(1e-9));
      CHECK(on_tall.at(s, n).y * aspect == doctest::Approx(on_square.at(s, n).y).epsilon(1e-9));
    }
}
