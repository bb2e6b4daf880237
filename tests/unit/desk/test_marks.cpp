// Which mark is under the pointer, at any zoom.
#include <canalrule/desk/marks.hpp>

#include <cmath>

#include <doctest/doctest.h>

#include <canalrule/desk/edit.hpp>

using namespace canalrule;
using namespace canalrule::desk;

namespace {

using Of = PointPlace::Of;

Drawing marked() {
  Drawing drawing;
  ScaleDrawn file;
  file.points = {{10, 10}, {10, 100}, {20, 200}};
  drawing.scale = {file};
  ScaleDrawn carried;
  carried.kind = ScaleDrawn::Kind::carried;
  carried.points = {{300, 10}, {300, 400}};
  carried.from_points = {{50, 60}, {70, 80}};
  drawing.scale.push_back(carried);
  CanalDrawn canal;
  canal.name = "D";
  canal.path = {{100, 50}, {110, 150}, {100, 250}};
  canal.apex = Point{100, 250};
  canal.coronal_reference = Point{100, 5};
  drawing.canals = {canal};
  return drawing;
}

}  // namespace

TEST_CASE("the nearest point within reach is found, and reach is in screen pixels") {
  const Drawing drawing = marked();
  CHECK(point_under(drawing, {112, 153}, {8, 1}) == PointPlace{Of::canal, 0, 1});
  CHECK_FALSE(point_under(drawing, {112, 153}, {8, 4}));  // at four times the size they are 14 px apart
  CHECK(point_under(drawing, {110.5, 151}, {8, 4}) == PointPlace{Of::canal, 0, 1});
  CHECK(point_under(drawing, {120, 170}, {8, 0.25}) == PointPlace{Of::canal, 0, 1});
  CHECK(point_under(drawing, {11, 99}, {8, 1}) == PointPlace{Of::scale, 0, 1});
  CHECK(point_under(drawing, {99, 4}, {8, 1}) == PointPlace{Of::coronal_reference, 0, 0});
  CHECK_FALSE(point_under(drawing, {60, 150}, {8, 1}));
}

TEST_CASE("an apex on a line's last point is the one that is picked up") {
  CHECK(point_under(marked(), {101, 250}, {8, 1}) == PointPlace{Of::apex, 0, 0});
}

TEST_CASE("landmarks on the other film are found there and not here") {
  const Drawing drawing = marked();
  CHECK(point_under(drawing, {51, 60}, {8, 1}, WhichFilm::other) == PointPlace{Of::scale_from, 1, 0});
  CHECK_FALSE(point_under(drawing, {51, 60}, {8, 1}));
  CHECK_FALSE(point_under(drawing, {100, 250}, {8, 1}, WhichFilm::other));
}

TEST_CASE("a place on a line gets the index between its neighbours, and lies on the smooth line") {
  const Drawing drawing = marked();
  const auto first = line_under(drawing, {106, 100}, {8, 1}, 1.0);
  REQUIRE(first);
  CHECK(first->place == PointPlace{Of::canal, 0, 1});
  const auto second = line_under(drawing, {109, 200}, {8, 1}, 1.0);
  REQUIRE(second);
  CHECK(second->place == PointPlace{Of::canal, 0, 2});
  // The spline through (100, 50), (110, 150), (100, 250) is symmetric about y = 150.
  const auto mirrored = line_under(drawing, {109, 100}, {8, 1}, 1.0);
  REQUIRE(mirrored);
  CHECK(second->on_line.x == doctest::Approx(mirrored->on_line.x).epsilon(1e-6));
  CHECK(second->on_line.y == doctest::Approx(300.0 - mirrored->on_line.y).epsilon(1e-6));
  // Adding the point there hardly changes the line.
  const Drawing more = applied(drawing, InsertPoint{second->place, second->on_line});
  CHECK(more.canals[0].path.size() == 4);
  for (const Point& p : smooth_line(more.canals[0].path, 1.0)) {
    const auto near = line_under(drawing, p, {1, 1}, 1.0);
    const bool at_end = std::hypot(p.x - 100, p.y - 50) < 1.0 || std::hypot(p.x - 100, p.y - 250) < 1.0;
    CHECK((near || at_end));
  }
  CHECK_FALSE(line_under(drawing, {100, 270}, {8, 1}, 1.0));  // beyond the end there is no line
  CHECK_FALSE(line_under(drawing, {300, 200}, {8, 1}, 1.0));  // two landmarks are no line
  CHECK(line_under(drawing, {12, 60}, {8, 1}, 1.0)->place == PointPlace{Of::scale, 0, 1});
}

TEST_CASE("the smooth line passes through its points, at every aspect") {
  const Polyline points{{100, 50}, {130, 150}, {100, 250}};
  for (const double aspect : {0.5, 1.0, 1.7}) {
    const Polyline line = smooth_line(points, aspect, 1.0);
    CHECK(line.front().x == doctest::Approx(100));
    CHECK(line.front().y == doctest::Approx(50));
    CHECK(line.back().y == doctest::Approx(250));
    for (const Point& wanted : points) {
      double nearest = 1e9;
      for (const Point& p : line) nearest = std::min(nearest, std::hypot(p.x - wanted.x, p.y - wanted.y));
      CHECK(nearest < 1.1);
    }
  }
  CHECK(smooth_line({{3, 4}}, 1.0) == Polyline{{3, 4}});
  CHECK(smooth_line({{3, 4}, {3, 4}}, 1.0).size() == 2);
}

TEST_CASE("the keyboard steps through every point once, and each is there") {
  const Drawing drawing = marked();
  const auto here = all_points(drawing);
  CHECK(here.size() == 10);
  for (const PointPlace& place : here) CHECK(point_at(drawing, place));
  CHECK(all_points(drawing, WhichFilm::other).size() == 2);
}
