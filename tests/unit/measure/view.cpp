// What the scale may be wrong by at a canal that doesn't lie as the scale's object does. Projection geometry:
// dM / M = delta / (SID - d); L' / L = cos(theta).
#include "view.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

using namespace canalrule;

namespace {

const double lean = 10.0 / std::sqrt(3.0) * std::numbers::pi / 180.0;

CanalPath straight() {
  return CanalPath({{200.0, 100.0}, {200.0, 350.0}, {200.0, 600.0}}, {200.0, 600.0}, 1.0);
}

ScaleResult scale_from(const std::string& source) {
  ScaleResult scale;
  scale.mm_per_pixel = 0.03;
  scale.source = source;
  return scale;
}

Reading with(const ScaleMark& mark) {
  Reading reading;
  reading.scale = {mark};
  return reading;
}

}  // namespace

TEST_CASE("a file in the canal itself shares its depth and its lean") {
  const ViewShare share =
      view_share(with(KnownLength{{{207.0, 90.0}, {202.0, 590.0}}, 15.0, 0.1}), scale_from("known-length"),
                 {{KnownObject::Seen::shaft, {{207.0, 90.0}, {202.0, 590.0}}}}, straight());
  CHECK(share.along == 0.0);
  CHECK(share.across == 0.0);
  CHECK(share.taper == 0.0);
}

TEST_CASE("a file that crosses a canal lies in another one; one drawn by its ends in a curved canal lies in it") {
  constexpr double mm = 0.03;
  using Seen = KnownObject::Seen;
  const CanalPath path = straight();
  CHECK(lies_in_canal({Seen::shaft, {{207.0, 90.0}, {202.0, 590.0}}}, path, mm));
  const Polyline crossing{{150.0, 90.0}, {260.0, 590.0}}, beside{{260.0, 90.0}, {255.0, 590.0}};
  CHECK_FALSE(lies_in_canal({Seen::shaft, crossing}, path, mm));
  CHECK_FALSE(lies_in_canal({Seen::line, crossing}, path, mm));
  CHECK(lies_in_canal({Seen::no, crossing}, path, mm));  // it may be two landmarks
  CHECK_FALSE(lies_in_canal({Seen::no, beside}, path, mm));
  CHECK_FALSE(lies_in_canal({Seen::shaft, {{217.0, 90.0}, {212.0, 590.0}}}, path, mm));  // half a millimetre aside
  // A canal bent by a millimetre between its ends, and the chord between these.
  const CanalPath bent({{205.0, 590.0}, {239.0, 340.0}, {205.0, 90.0}}, {205.0, 90.0}, 1.0);
  CHECK(lies_in_canal({Seen::line, {{205.0, 590.0}, {205.0, 90.0}}}, bent, mm));
}

TEST_CASE("a file in another canal may lie 3 mm deeper and lean by 10 degrees more") {
  const ViewShare share =
      view_share(with(KnownLength{{{260.0, 90.0}, {255.0, 590.0}}, 15.0, 0.1}), scale_from("known-length"),
                 {{KnownObject::Seen::shaft, {{260.0, 90.0}, {255.0, 590.0}}}}, straight());
  CHECK(share.across == doctest::Approx(3.0 / std::sqrt(3.0) / 300.0));
  // Monte Carlo of cos(theta + delta) / cos(theta), both +-10 degrees rectangular, by a grid.
  double sum = 0.0;
  constexpr int n = 200;
  const double half = 10.0 * std::numbers::pi / 180.0;
  for (int i = 0; i < n; ++i)
    for (int k = 0; k < n; ++k) {
      const double theta = half * (2.0 * (i + 0.5) / n - 1.0), delta = half * (2.0 * (k + 0.5) / n - 1.0);
      sum += std::pow(std::cos(theta + delta) / std::cos(theta) - 1.0, 2);
    }
  CHECK(share.taper == doctest::Approx(std::sqrt(sum) / n).epsilon(0.03));
  CHECK(share.along == doctest::Approx(std::hypot(share.across, share.taper)));
}

TEST_CASE("the detector's spacing and a width alone know nothing of the tooth's lean") {
  const ViewShare spacing = view_share({}, scale_from("dicom"), {}, straight());
  CHECK(spacing.along == doctest::Approx(0.5 * lean * lean * std::sqrt(1.8)));
  CHECK(spacing.across == 0.0);
  const ViewShare width = view_share(with(KnownWidth{{{100.0, 200.0}, {140.0, 200.0}}, 1.2, 0.01}),
                                     scale_from("known-width"), {}, straight());
  CHECK(width.along > width.across);
  CHECK(width.across > 0.0);
}

TEST_CASE(
    "a carried scale: a cusp 1.5 mm before the apex, seen from 5 degrees aside, over the landmarks' "
    "distance") {
  const ViewShare share =
      view_share(with(CarriedLength{{{200.0, 0.0}, {200.0, 600.0}}, "other", {{0, 0}, {0, 600}}}),
                 scale_from("carried-length"), {}, straight());
  CHECK(share.along == doctest::Approx(1.5 * std::sin(5.0 * std::numbers::pi / 180.0) / 18.0));
  CHECK(share.taper == 0.0);
}
