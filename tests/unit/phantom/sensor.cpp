#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include <canalrule/phantom/sensor.hpp>

using namespace canalrule;
using namespace canalrule::phantom;

TEST_CASE("a blurred edge rises from 10 to 90 % within 2.563 standard deviations") {
  for (const double sigma : {1.2, 2.0, 4.0, 8.0}) {
    Plane plane(200, 40, 0.0);
    for (int r = 0; r < plane.rows; ++r)
      for (int c = 100; c < plane.columns; ++c) plane.at(c, r) = 1.0;
    blur(plane, sigma);
    const auto crossing = [&](double level) {
      int c = 0;
      while (plane.at(c + 1, 20) < level) ++c;
      return c + (level - plane.at(c, 20)) / (plane.at(c + 1, 20) - plane.at(c, 20));
    };
    // Straight lines between pixels miss a curve's crossing by up to f'' / (8 f'), here 1.2816 / (8 sigma).
    CHECK(std::abs(crossing(0.9) - crossing(0.1) - 2.563 * sigma) <= 2.0 * 1.2816 / (8.0 * sigma));
  }
}

TEST_CASE("blur keeps the sum and spreads a point by its variance") {
  Plane plane(61, 61, 0.0);
  plane.at(30, 30) = 1.0;
  blur(plane, 2.5);
  double sum = 0.0, variance = 0.0;
  for (int r = 0; r < 61; ++r)
    for (int c = 0; c < 61; ++c) {
      sum += plane.at(c, r);
      variance += plane.at(c, r) * (c - 30) * (c - 30);
    }
  CHECK(sum == doctest::Approx(1.0).epsilon(1e-12));
  CHECK(variance == doctest::Approx(6.25).epsilon(1e-4));
}

TEST_CASE("noise has the variance of counted photons, correlated or not") {
  Beam beam;
  beam.photons_per_pixel = 5000.0;
  Detector detector;
  detector.electronic_noise = 0.002;
  for (const double correlation : {0.0, 0.8}) {
    detector.noise_correlation_px = correlation;
    Plane plane(400, 400, 0.3);
    add_noise(plane, beam, detector, 7);
    double mean = 0.0, square = 0.0, neighbours = 0.0;
    const double n = static_cast<double>(plane.value.size());
    for (double v : plane.value) mean += v / n;
    for (double v : plane.value) square += (v - mean) * (v - mean) / n;
    for (std::size_t i = 0; i + 1 < plane.value.size(); ++i)
      neighbours += (plane.value[i] - mean) * (plane.value[i + 1] - mean) / n;
    CHECK(mean == doctest::Approx(0.3).epsilon(5e-4));
    CHECK(square == doctest::Approx(0.3 / 5000.0 + 4e-6).epsilon(0.03));
    // Two Gaussians a pixel apart: exp(-1 / (4 sigma^2)).
    const double expected = correlation > 0.0 ? std::exp(-1.0 / (4.0 * correlation * correlation)) : 0.0;
    CHECK(neighbours / square == doctest::Approx(expected).epsilon(0.03).scale(1.0));
  }
}

TEST_CASE("scatter adds its share of the mean exposure, smoothly") {
  Plane plane(300, 300, 0.2);
  for (int r = 0; r < 300; ++r)
    for (int c = 0; c < 150; ++c) plane.at(c, r) = 0.6;
  Plane with = plane;
  add_scatter(with, 0.25, 0.03);
  double added = 0.0, steepest = 0.0;
  for (std::size_t i = 0; i < plane.value.size(); ++i) added += (with.value[i] - plane.value[i]) / 90000.0;
  for (int c = 0; c + 1 < 300; ++c)
    steepest = std::max(steepest, std::abs((with.at(c + 1, 150) - plane.at(c + 1, 150)) -
                                           (with.at(c, 150) - plane.at(c, 150))));
  CHECK(added == doctest::Approx(0.25 * 0.4).epsilon(0.01));
  CHECK(steepest < 0.001);
}

TEST_CASE("each response is what it says") {
  Detector detector;
  detector.bits = 16;
  detector.columns = 64;
  detector.rows = 64;
  Plane exposure(64, 64, 0.0);
  for (int r = 0; r < 64; ++r)
    for (int c = 0; c < 64; ++c) exposure.at(c, r) = std::exp(-(0.5 + 2.0 * c / 63.0));
  SUBCASE("log: grey is linear in attenuation") {
    detector.response = Response::log;
    detector.window_low = 0.0;
    detector.window_high = 3.0;
    const Grey grey = respond(exposure, detector, 1.0);
    for (int c = 0; c < 64; ++c)
      CHECK(grey.grey.at<std::uint16_t>(5, c) ==
            doctest::Approx((0.5 + 2.0 * c / 63.0) / 3.0 * 65535.0).epsilon(1e-4));
    CHECK(grey.clipped_share == 0.0);
  }
  SUBCASE("linear: grey is linear in exposure, dark is the dark level") {
    detector.response = Response::linear;
    detector.radiopaque = Radiopaque::dark;
    const Grey grey = respond(exposure, detector, 1.0);
    const double g0 = grey.grey.at<std::uint16_t>(0, 0), g1 = grey.grey.at<std::uint16_t>(0, 30),
                 g2 = grey.grey.at<std::uint16_t>(0, 63);
    CHECK((g0 - g1) / (g1 - g2) == doctest::Approx((exposure.at(0, 0) - exposure.at(30, 0)) /
                                                   (exposure.at(30, 0) - exposure.at(63, 0))).epsilon(1e-3));
    const double slope = (g0 - g2) / (exposure.at(0, 0) - exposure.at(63, 0));
    CHECK(g0 - slope * exposure.at(0, 0) == doctest::Approx(detector.dark_level * 65535.0).epsilon(1e-2));
  }
  SUBCASE("display: a monotone curve") {
    detector.response = Response::display;
    const Grey grey = respond(exposure, detector, 1.0);
    for (int c = 0; c + 1 < 64; ++c)
      CHECK(grey.grey.at<std::uint16_t>(9, c + 1) > grey.grey.at<std::uint16_t>(9, c));
  }
  SUBCASE("what lies outside the window is clipped, and counted") {
    detector.response = Response::log;
    detector.window_low = 0.0;
    detector.window_high = 1.5;
    const Grey grey = respond(exposure, detector, 1.0);
    CHECK(grey.grey.at<std::uint16_t>(0, 63) == 65535);
    CHECK(grey.clipped_share == doctest::Approx(0.5).epsilon(0.02));
  }
}

TEST_CASE("sharpening overshoots beside an edge") {
  Detector detector;
  detector.bits = 16;
  detector.window_low = 0.0;
  detector.window_high = 3.0;
  detector.sharpen_amount = 1.0;
  Plane exposure(200, 20, std::exp(-1.0));
  for (int r = 0; r < 20; ++r)
    for (int c = 100; c < 200; ++c) exposure.at(c, r) = std::exp(-2.0);
  const Grey grey = respond(exposure, detector, 1.0);
  const double flat = grey.grey.at<std::uint16_t>(10, 20), before = grey.grey.at<std::uint16_t>(10, 99);
  // Beside an ideal edge the mask takes half of the step, less what the pixel's own width covers.
  const double step = 65535.0 / 3.0;
  CHECK(before < flat - 0.35 * step);
  CHECK(before > flat - 0.5 * step);
}

TEST_CASE("lossy compression changes each coefficient by at most half a step") {
  Detector detector;
  detector.bits = 8;
  detector.window_low = 0.0;
  detector.window_high = 3.0;
  Beam beam;
  beam.photons_per_pixel = 500.0;
  Plane exposure(64, 64, 0.2);
  add_noise(exposure, beam, detector, 3);
  const Grey before = respond(exposure, detector, 1.0);
  detector.jpeg_coarseness = 0.5;
  const Grey after = respond(exposure, detector, 1.0);
  double sum = 0.0, square = 0.0, mean = 0.0;
  for (int r = 0; r < 64; ++r)
    for (int c = 0; c < 64; ++c) {
      const double d =
          static_cast<double>(after.grey.at<std::uint16_t>(r, c)) - before.grey.at<std::uint16_t>(r, c);
      mean += d / 4096.0;
      square += d * d / 4096.0;
      sum += std::abs(d);
    }
  CHECK(sum > 0.0);
  // Steps are half the table's. The first coefficient, eight times a block's mean, moves by at most 4, so
  // the mean by 0.5; rounding to whole values adds at most as much.
  CHECK(std::abs(mean) < 1.0);
  // Parseval: the mean square over a block is at most that of all half steps, 285.0 here, and rounding adds
  // at most 0.5 to its root.
  CHECK(std::sqrt(square) < std::sqrt(285.0) + 0.5);
}
