// Geometry of the projection against closed forms: magnification SID / (SID - d), and for a nearly
// parallel beam a length L seen as L cos(theta) / cos(phi), theta the tooth's tilt, phi the detector's.
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include <canalrule/phantom/projection.hpp>

using namespace canalrule::phantom;
using canalrule::Point;

namespace {
double distance(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y); }

struct Setting {
  Beam beam;
  Detector detector;
  Tooth tooth;
  Setting(double sid, double depth) {
    beam.source_to_detector_mm = sid;
    beam.object_to_detector_mm = depth;
  }
  double seen_mm(double from, double to) const {
    const Projection p(beam, detector);
    const ToothFrame f = tooth_frame(tooth, beam, detector);
    return distance(p.on_film(f.place(0, from, 0)), p.on_film(f.place(0, to, 0))) * detector.pixel_mm;
  }
};
}  // namespace

TEST_CASE("magnification follows from the distances") {
  struct Row {
    double sid, depth, magnification;
  };
  for (const Row& row :
       {Row{400, 10, 1.0256}, Row{400, 20, 1.0526}, Row{200, 10, 1.0526}, Row{300, 30, 1.1111}})
    CHECK(Setting(row.sid, row.depth).seen_mm(0.0, 10.0) / 10.0 ==
          doctest::Approx(row.magnification).epsilon(5e-5));
}

TEST_CASE("tilt shortens by cos theta over cos phi") {
  constexpr double far_mm = 1e7;  // a parallel beam
  struct Row {
    double theta, phi, ratio;
  };
  for (const Row& row : {Row{5, 0, 0.9962}, Row{10, 0, 0.9848}, Row{20, 0, 0.9397}, Row{30, 0, 0.8660},
                         Row{0, 10, 1.0154}, Row{0, 20, 1.0642}, Row{20, 10, 0.9542}, Row{15, 15, 1.0}}) {
    Setting s(far_mm, 10.0);
    s.tooth.tilt_deg = row.theta;
    s.beam.detector_tilt_deg = row.phi;
    CAPTURE(row.theta);
    CAPTURE(row.phi);
    CHECK(s.seen_mm(-5.0, 5.0) / 10.0 == doctest::Approx(row.ratio).epsilon(1e-4));
  }
}

TEST_CASE("a ray goes through what it shows") {
  Setting s(300.0, 15.0);
  s.beam.detector_tilt_deg = 7.0;
  const Projection p(s.beam, s.detector);
  const Point film{123.4, 987.6};
  const Vec3 place = p.at_height(film, 21.0);
  CHECK(distance(p.on_film(place), film) < 1e-9);
  CHECK(distance(p.on_film(p.on_detector(film)), film) < 1e-9);
}

TEST_CASE("a canal bends by the angle asked for and keeps its length") {
  Setting s(400.0, 12.0);
  const Projection p(s.beam, s.detector);
  const ToothFrame frame = tooth_frame(s.tooth, s.beam, s.detector);
  Curve curve;
  curve.bend_deg = 35.0;
  curve.bend_over_mm = 6.0;
  const Line line = trace(curve, frame, p, -2.0, 14.0, 0.02);
  const double angle = std::acos(dot(line.tangent.front(), line.tangent.back())) * 180.0 / std::numbers::pi;
  CHECK(angle == doctest::Approx(35.0).epsilon(1e-9));
  double length = 0.0;
  for (std::size_t i = 0; i + 1 < line.place.size(); ++i) {
    const Vec3 d = line.place[i + 1] - line.place[i];
    length += std::sqrt(dot(d, d));
  }
  CHECK(length == doctest::Approx(16.0).epsilon(1e-5));
}

TEST_CASE("the nearest place on a line is found from anywhere near it") {
  Setting s(400.0, 12.0);
  const Projection p(s.beam, s.detector);
  Curve curve;
  curve.bend_deg = 30.0;
  const Line line = trace(curve, tooth_frame(s.tooth, s.beam, s.detector), p, -4.0, 14.0, 0.02);
  Nearest nearest(line);
  for (const double arc : {0.5, 12.0, 3.3, -1.0, 7.7}) {
    const Point a = line.film_at(arc - 0.01), b = line.film_at(arc + 0.01), on = line.film_at(arc);
    const double l = distance(a, b), off = 14.0;
    const Point beside{on.x - off * (b.y - a.y) / l, on.y + off * (b.x - a.x) / l};
    const auto found = nearest.find(beside);
    CHECK(found.inside);
    CHECK(found.arc_mm == doctest::Approx(arc).epsilon(1e-3));
    CHECK(found.off_px == doctest::Approx(off).epsilon(1e-4));
  }
}
