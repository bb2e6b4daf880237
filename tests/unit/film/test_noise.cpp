#include <cmath>

#include <doctest/doctest.h>

#include <canalrule/film/quality.hpp>

#include "synthetic_film.hpp"

using canalrule::Film;
using canalrule::look_at_whole;
using canalrule_test::noisy_film;

TEST_CASE("the noise put in is found, whatever the shade beneath") {
  for (const double noise : {5.0, 20.0, 80.0})
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      CAPTURE(noise);
      CAPTURE(seed);
      // 200 000 places, overlapping: the standard error of the median is 0.4 %, four of them are allowed.
      CHECK(look_at_whole(noisy_film(12, noise, 0.0, 4095.0, seed)).noise_grey == doctest::Approx(noise).epsilon(0.016));
    }
}

TEST_CASE("a film of few levels still gives a graded answer, its rounding included") {
  double before = 0.0;
  for (const double noise : {0.0, 0.4, 0.6, 0.8, 1.0, 1.5}) {
    CAPTURE(noise);
    const double found = look_at_whole(noisy_film(8, noise, 0.0, 255.0, 11)).noise_grey;
    CHECK(found >= before);
    CHECK(found >= 1.0 / std::sqrt(12.0));
    if (noise >= 0.4) CHECK(found == doctest::Approx(std::hypot(noise, 1.0 / std::sqrt(12.0))).epsilon(0.05));
    before = found;
  }
}

TEST_CASE("edges hardly count") {
  Film film = noisy_film(12, 20.0, 0.0, 4095.0, 12);
  for (int column = 10; column < 500; column += 50) film.grey.colRange(column, column + 10) += 900.0;
  // 4 of 50 columns see an edge: the median moves by less than a tenth.
  const double found = look_at_whole(film).noise_grey;
  CHECK(found > 20.0 * 0.98);
  CHECK(found < 20.0 * 1.15);
}

TEST_CASE("clipped and unusable pixels are left out") {
  Film film = noisy_film(12, 20.0, 0.0, 4095.0, 13);
  film.grey.colRange(0, 220).setTo(0.0);
  CHECK(look_at_whole(film).noise_grey == doctest::Approx(20.0).epsilon(0.025));

  Film padded = noisy_film(12, 20.0, 0.0, 4095.0, 14);
  padded.unusable = cv::Mat::zeros(padded.grey.size(), CV_8UC1);
  padded.unusable.colRange(0, 300).setTo(255);
  cv::Mat half = padded.grey.colRange(0, 300);
  cv::randu(half, 0.0, 4095.0);
  CHECK(look_at_whole(padded).noise_grey == doctest::Approx(20.0).epsilon(0.025));
}

TEST_CASE("a film too small for the mask has its rounding at least") {
  const Film film = noisy_film(12, 20.0, 0.0, 4095.0, 15, {2, 9});
  CHECK(look_at_whole(film).noise_grey == doctest::Approx(1.0 / std::sqrt(12.0)));
}
