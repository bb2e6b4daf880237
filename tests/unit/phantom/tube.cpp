#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include <canalrule/phantom/tube.hpp>

using namespace canalrule::phantom;

namespace {
constexpr double pi = std::numbers::pi;

/// Integral over the offset, by the midpoint rule in the angle: exact for a circle's chord.
template <typename F>
double across(double radius, F length) {
  constexpr int steps = 2000;
  double sum = 0.0;
  for (int i = 0; i < steps; ++i) {
    const double angle = pi * (i + 0.5) / steps;
    sum += length(radius * std::cos(angle)) * radius * std::sin(angle) * pi / steps;
  }
  return sum;
}
}  // namespace

TEST_CASE("a ray at right angles passes a round fill along its chord") {
  const Piece cone{.from_mm = 1.0, .to_mm = 11.0, .radius_from_mm = 0.15, .slope = 0.03};
  for (const double z : {1.5, 4.0, 9.0}) {
    const double r = 0.15 + 0.03 * (z - 1.0);
    for (const double share : {0.0, 0.3, 0.9, 0.999})
      CHECK(crossing(cone, {z, share * r, 0.0}).length() ==
            doctest::Approx(2.0 * r * std::sqrt(1.0 - share * share)).epsilon(1e-12));
    CHECK(crossing(cone, {z, r * 1.0001, 0.0}).length() == 0.0);
    CHECK(across(r, [&](double n) { return crossing(cone, {z, n, 0.0}).length(); }) ==
          doctest::Approx(pi * r * r).epsilon(1e-6));
  }
}

TEST_CASE("a leaning ray passes a cylinder along its chord over the cosine") {
  const Piece cylinder{.from_mm = -50.0, .to_mm = 50.0, .radius_from_mm = 0.4};
  for (const double lean : {0.1, 0.3, 0.7})
    CHECK(crossing(cylinder, {0.0, 0.1, lean}).length() ==
          doctest::Approx(2.0 * std::sqrt(0.16 - 0.01) / std::sqrt(1.0 - lean * lean)).epsilon(1e-12));
}

TEST_CASE("a leaning ray in a cone satisfies the cone's equation at both ends") {
  const Piece cone{.from_mm = 0.0, .to_mm = 20.0, .radius_from_mm = 0.2, .slope = 0.04};
  const Ray ray{8.0, 0.15, 0.35};
  const Stretch s = crossing(cone, ray);
  REQUIRE(s.length() > 0.0);
  for (const double t : {s.from, s.to}) {
    const double z = ray.along_mm + ray.lean * t;
    CHECK(ray.off_mm * ray.off_mm + t * t * (1.0 - ray.lean * ray.lean) ==
          doctest::Approx(std::pow(radius_at(cone, z), 2)).epsilon(1e-12));
  }
}

TEST_CASE("pieces side by side add up to the whole, however the ray leans") {
  const Piece whole{.from_mm = 0.0, .to_mm = 10.0, .radius_from_mm = 0.2, .slope = 0.02};
  const Piece low{.from_mm = 0.0, .to_mm = 5.0, .radius_from_mm = 0.2, .slope = 0.02};
  const Piece high{.from_mm = 5.0, .to_mm = 10.0, .radius_from_mm = 0.3, .slope = 0.02};
  for (const double lean : {0.0, 0.05, -0.4})
    CHECK(crossing(low, {5.02, 0.05, lean}).length() + crossing(high, {5.02, 0.05, lean}).length() ==
          doctest::Approx(crossing(whole, {5.02, 0.05, lean}).length()).epsilon(1e-12));
}

TEST_CASE("a rounded end of height and radius alike is half a ball") {
  const Piece cap{.from_mm = 2.0, .to_mm = 2.3, .rounded = true, .radius_mm = 0.3};
  CHECK(crossing(cap, {2.3 - 1e-12, 0.0, 0.0}).length() == doctest::Approx(0.6));
  CHECK(crossing(cap, {2.1, 0.0, 0.0}).length() == doctest::Approx(2.0 * std::sqrt(0.09 - 0.04)));
  CHECK(crossing(cap, {1.999, 0.0, 0.0}).length() == 0.0);
  // Down its axis a ray passes the radius alone.
  CHECK(crossing(cap, {2.3, 0.0, 0.999999999999}).length() == doctest::Approx(0.3).epsilon(1e-5));
  double volume = 0.0;
  constexpr int steps = 400;
  for (int i = 0; i < steps; ++i) {
    const double z = 2.0 + 0.3 * (i + 0.5) / steps, r = radius_at(cap, z);
    volume += across(r, [&](double n) { return crossing(cap, {z, n, 0.0}).length(); }) * 0.3 / steps;
  }
  CHECK(volume == doctest::Approx(2.0 / 3.0 * pi * 0.027).epsilon(1e-5));
}

TEST_CASE("an ellipsoid's crossings make its volume") {
  const Ellipsoid body{4.0, 0.1, 0.2, 0.5, 0.3, 0.2};
  double volume = 0.0;
  constexpr int steps = 400;
  for (int i = 0; i < steps; ++i) {
    const double z = 3.5 + (i + 0.5) / steps, u = (z - 4.0) / 0.5, half = 0.3 * std::sqrt(1.0 - u * u);
    volume += across(half, [&](double n) { return crossing(body, {z, 0.1 + n, 0.0}).length(); }) / steps;
  }
  CHECK(volume == doctest::Approx(4.0 / 3.0 * pi * 0.5 * 0.3 * 0.2).epsilon(1e-5));
  // The same body met by a leaning ray through its middle: x = t lean / 0.5, y = t cos / 0.2, sum of
  // squares 1.
  const double lean = 0.6, cosine = 0.8;
  const Ellipsoid centred{4.0, 0.0, 0.0, 0.5, 0.3, 0.2};
  CHECK(crossing(centred, {4.0, 0.0, lean}).length() ==
        doctest::Approx(2.0 / std::sqrt(std::pow(lean / 0.5, 2) + std::pow(cosine / 0.2, 2))).epsilon(1e-12));
}

TEST_CASE("a cut along the wall takes a circle's segment, from whatever side it is seen") {
  const double radius = 0.4, depth = 0.15, rest = radius - depth;
  const double segment =
      radius * radius * std::acos(rest / radius) - rest * std::sqrt(radius * radius - rest * rest);
  for (const double azimuth : {0.0, 40.0, 90.0, 180.0, 215.0}) {
    const WallCut cut{3.0, 4.0, depth, std::cos(azimuth * pi / 180.0), std::sin(azimuth * pi / 180.0)};
    const double taken = across(radius, [&](double n) {
      const double half = std::sqrt(radius * radius - n * n);
      return cut_length(cut, {3.5, n, 0.0}, radius, {-half, half});
    });
    CAPTURE(azimuth);
    CHECK(taken == doctest::Approx(segment).epsilon(2e-3));
  }
  CHECK(cut_depth({3.0, 4.0, depth, 1.0, 0.0}, 4.01) == 0.0);
}
