// The steps at a film: what is missing, what the next click does, and what it means.
#include <canalrule/desk/steps.hpp>

#include <string>

#include <doctest/doctest.h>

#include <canalrule/desk/edit.hpp>

using namespace canalrule;
using namespace canalrule::desk;

namespace {

/// A person at work: clicks with the pen in hand.
struct AtWork {
  Drawing drawing;
  Pen pen;
  std::optional<std::size_t> propose;

  void make(const Edit& edit) { drawing = applied(drawing, edit); }
  void start(Step step) {
    const Begin begun = begin(drawing, step);
    if (begun.edit) make(*begun.edit);
    pen = begun.pen;
  }
  void at(double x, double y) {
    const Click clicked = click(drawing, pen, {x, y});
    for (const Edit& edit : clicked.edits) make(edit);
    pen = clicked.pen;
    propose = clicked.propose;
  }
  std::string next() const { return plain(next_click(drawing, pen)); }
  StepState state(Step step) const { return steps(drawing, {})[static_cast<std::size_t>(step)].state; }
};

Spacing spacing(SpacingKind kind) { return {0.02, 0.02, kind, "", "", {}}; }

}  // namespace

TEST_CASE("from an empty film to one that can be measured, in the order scale, canals, apex") {
  AtWork work;
  CHECK(missing(work.drawing, {}).size() == 3);
  for (const StepStatus& step : steps(work.drawing, {})) CHECK(step.state == StepState::missing);

  work.start(Step::scale);
  CHECK(work.next() == "Click on the file's stop.");
  work.at(100, 50);
  CHECK(work.state(Step::scale) == StepState::begun);
  work.at(101, 300);
  work.at(104, 520.5);
  CHECK(work.drawing.scale[0].points.size() == 3);
  CHECK(plain(steps(work.drawing, {})[0].text) == "Say how long the marked object is.");
  work.make(set_scale_size(work.drawing, 0, 21.0, {}));
  CHECK(work.state(Step::scale) == StepState::done);
  CHECK(plain(steps(work.drawing, {})[0].text) == "A length of 21 mm gives the scale.");

  work.make(SetTooth{"36"});
  work.start(Step::canals);
  CHECK(work.drawing.canals[0].name == "MB");
  CHECK(work.next() == "Click on the orifice of canal MB.");
  work.at(200, 100);
  CHECK(work.state(Step::canals) == StepState::begun);
  work.at(210, 300);
  CHECK(work.next() == "Click on along canal MB, or finish the line.");
  work.at(205, 500);
  work.pen = finished(work.drawing, work.pen);
  CHECK(work.pen == Pen{Hand::apex, 0});
  CHECK(missing(work.drawing, {}).size() == 1);
  work.at(206, 510);
  CHECK(work.pen.hand == Hand::nothing);
  CHECK(missing(work.drawing, {}).empty());
  for (const StepStatus& step : steps(work.drawing, {})) CHECK(step.state == StepState::done);
}

TEST_CASE("the order of the steps is free") {
  AtWork work;
  work.start(Step::apex);
  REQUIRE(work.drawing.canals.size() == 1);
  CHECK(work.next() == "Click on the radiographic apex of canal 1.");
  work.at(50, 400);
  CHECK(work.state(Step::apex) == StepState::done);
  work.start(Step::canals);
  REQUIRE(work.drawing.canals.size() == 1);
  work.at(50, 100);
  work.at(50, 390);
  work.pen = finished(work.drawing, work.pen);
  CHECK(work.pen.hand == Hand::nothing);  // the apex is there
  CHECK(missing(work.drawing, {}).size() == 1);
  CHECK(missing(work.drawing, spacing(SpacingKind::imager)).empty());
}

TEST_CASE("orifice and apex alone ask for a proposal; a third click begins anew") {
  AtWork work;
  work.make(add_canal(work.drawing, "P"));
  work.pen = {Hand::canal_ends, 0};
  work.at(10, 20);
  CHECK_FALSE(work.propose);
  CHECK(work.next() == "Click on the apex of canal P; the line between is then proposed.");
  work.at(12, 220);
  REQUIRE(work.propose == std::optional<std::size_t>(0));
  CHECK(work.drawing.canals[0].apex == Point{12, 220});
  CHECK(work.drawing.canals[0].path == Polyline{{10, 20}, {12, 220}});
  CHECK(work.pen.hand == Hand::nothing);
  work.pen = {Hand::canal_ends, 0};
  work.at(30, 30);
  CHECK(work.drawing.canals[0].path == Polyline{{30, 30}});
  CHECK_FALSE(work.drawing.canals[0].apex);
}

TEST_CASE("a scale is carried over by the same two landmarks on both films") {
  AtWork work;
  work.make(add_scale(work.drawing, ScaleDrawn::Kind::carried));
  work.pen = {Hand::scale_points, 0};
  work.at(10, 10);
  work.at(12, 600);
  CHECK(work.pen == Pen{Hand::scale_from_points, 0});
  CHECK(plain(steps(work.drawing, {})[0].text) == "Say which film's scale is carried over.");
  CHECK(work.next() == "Click on the other film: the first of the same two landmarks.");
  work.at(20, 20);
  work.at(22, 640);
  CHECK(work.pen.hand == Hand::nothing);
  work.make(set_scale_from(work.drawing, 0, "/films/wl.reading.json", work.drawing.scale[0].from_points));
  CHECK(work.state(Step::scale) == StepState::done);
  CHECK(plain(steps(work.drawing, {})[0].text) == "The scale is carried over from wl.reading.json.");
  // A further click moves the nearer landmark.
  work.pen = {Hand::scale_points, 0};
  work.at(11, 590);
  CHECK(work.drawing.scale[0].points == Polyline{{10, 10}, {11, 590}});
  CHECK(begin(work.drawing, Step::scale).edit.has_value());  // that one is finished: another mark
}

TEST_CASE("what is unfinished is gone on with") {
  AtWork work;
  CHECK(pen_for(work.drawing).hand == Hand::nothing);
  work.make(add_canal(work.drawing, "MB"));
  work.make(add_canal(work.drawing, "P"));
  work.make(set_line(work.drawing, 0, {{1, 1}, {1, 90}}, LineSource::drawn));
  CHECK(pen_for(work.drawing) == Pen{Hand::canal_points, 1});
  work.make(set_line(work.drawing, 1, {{9, 1}, {9, 90}}, LineSource::drawn));
  CHECK(pen_for(work.drawing) == Pen{Hand::apex, 0});
  work.make(add_scale(work.drawing, ScaleDrawn::Kind::known_width));
  CHECK(pen_for(work.drawing) == Pen{Hand::scale_points, 0});
}

TEST_CASE("a proposal waits for its acceptance, and is measured all the same") {
  AtWork work;
  work.make(add_canal(work.drawing, "D"));
  work.make(set_line(work.drawing, 0, {{1, 1}, {1, 90}}, LineSource::proposed));
  work.make(MovePoint{{PointPlace::Of::apex, 0, 0}, {1, 95}});
  CHECK(plain(steps(work.drawing, {})[1].text).find("proposal") != std::string::npos);
  CHECK(missing(work.drawing, spacing(SpacingKind::calibrated)).empty());
}

TEST_CASE("a film that is said to be not assessable is not measured") {
  AtWork work;
  work.make(SetNotAssessable{"the roots overlap"});
  const auto why = missing(work.drawing, spacing(SpacingKind::patient));
  CHECK(plain(why.front()) == "The film is marked as not assessable: the roots overlap");
}

TEST_CASE("the worth of a film's own spacing is said") {
  CHECK(plain(worth_of(spacing(SpacingKind::imager))).find("magnification is unknown") != std::string::npos);
  CHECK(plain(worth_of(spacing(SpacingKind::patient))).find("not said") != std::string::npos);
  CHECK(plain(worth_of(spacing(SpacingKind::nominal_scanned))).find("scanned") != std::string::npos);
  Spacing known = spacing(SpacingKind::calibrated);
  known.calibration_type = "FIDUCIAL";
  CHECK(plain(worth_of(known)).find("object of known size") != std::string::npos);
  Spacing corrected = spacing(SpacingKind::imager);
  corrected.magnification = 1.05;
  CHECK(plain(worth_of(corrected)).find("1.05") != std::string::npos);
  const auto status = steps({}, known);
  CHECK(status[0].state == StepState::done);
}

TEST_CASE("sentences are filled in") {
  CHECK(plain({"%1 of %2, 100 %", {"a", "b"}}) == "a of b, 100 %");
  CHECK(plain({"%3", {"a"}}) == "%3");
}
