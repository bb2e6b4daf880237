#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include <canalrule/film/quality.hpp>

#include "synthetic_film.hpp"

using canalrule::Clipping;
using canalrule::Film;
using canalrule::find_clipping;
using canalrule_test::noisy_film;

namespace {

double share_at_or_beyond(const Film& film, double floor, double ceiling) {
  const cv::Mat at = (film.grey <= floor) | (film.grey >= ceiling);
  return cv::countNonZero(at) / static_cast<double>(film.grey.total());
}

}  // namespace

TEST_CASE("the ends of an ordinary film are not clipping") {
  for (const int bits : {8, 10, 12, 16})
    for (std::uint64_t seed = 1; seed <= 10; ++seed) {
      CAPTURE(bits);
      CAPTURE(seed);
      const double highest = std::ldexp(1.0, bits) - 1.0;
      const Film film = noisy_film(bits, 0.02 * highest, 0.0, highest, seed);
      const Clipping clipping = find_clipping(film);
      // The shade stays a fifth of the scale away from its ends.
      CHECK_FALSE(clipping.floor.has_value());
      CHECK_FALSE(clipping.ceiling.has_value());
      CHECK(clipping.share == 0.0);
      CHECK(clipping.mask.empty());
    }
}

TEST_CASE("a comb that stretching leaves is not clipping") {
  Film film = noisy_film(8, 3.0, 0.0, 255.0, 3);
  // Every third level holds twice as many pixels as its neighbours.
  for (float& grey : cv::Mat_<float>(film.grey)) grey = std::round(grey * 0.75F);
  const Clipping clipping = find_clipping(film);
  CHECK_FALSE(clipping.floor.has_value());
  CHECK_FALSE(clipping.ceiling.has_value());
}

TEST_CASE("clipping at the ends of the scale is found, mask and share") {
  for (const int bits : {8, 12, 16}) {
    CAPTURE(bits);
    Film film = noisy_film(bits, 0.01 * std::ldexp(1.0, bits), 0.0, std::ldexp(1.0, bits) - 1.0, 4);
    film.grey = (film.grey - 0.2 * film.highest_grey) * 1.5;
    for (float& grey : cv::Mat_<float>(film.grey))
      grey = std::clamp(std::round(grey), 0.0F, static_cast<float>(film.highest_grey));
    const Clipping clipping = find_clipping(film);
    REQUIRE(clipping.floor.has_value());
    REQUIRE(clipping.ceiling.has_value());
    CHECK(*clipping.floor == 0.0);
    CHECK(*clipping.ceiling == film.highest_grey);
    CHECK(clipping.share == doctest::Approx(share_at_or_beyond(film, 0.0, film.highest_grey)));
    CHECK(cv::countNonZero(clipping.mask) == doctest::Approx(clipping.share * 500 * 400));
    CHECK(cv::countNonZero(clipping.mask == 255) == cv::countNonZero(clipping.mask));
  }
}

TEST_CASE("counted by one worker or by many, a film is clipped alike and as noisy") {
  Film film = noisy_film(12, 30.0, 0.0, 3300.0, 5);
  film.unusable = cv::Mat(film.grey.size(), CV_8UC1, cv::Scalar(0));
  film.unusable(cv::Rect(20, 390, 60, 10)).setTo(255);
  const canalrule::WholeFilm alone = canalrule::look_at_whole(film);
  REQUIRE(alone.clipping.ceiling.has_value());
  for (const std::size_t threads : {std::size_t{2}, std::size_t{3}, std::size_t{64}}) {
    const canalrule::WholeFilm together = canalrule::look_at_whole(film, threads);
    CHECK(together.clipping.floor == alone.clipping.floor);
    CHECK(together.clipping.ceiling == alone.clipping.ceiling);
    CHECK(together.clipping.share == alone.clipping.share);
    CHECK(together.noise_grey == alone.noise_grey);
  }
}

TEST_CASE("a sensor that saturates below the end of the scale is found, at one end only") {
  const Film film = noisy_film(12, 30.0, 0.0, 3300.0, 5);
  const Clipping clipping = find_clipping(film);
  CHECK_FALSE(clipping.floor.has_value());
  REQUIRE(clipping.ceiling.has_value());
  CHECK(*clipping.ceiling == 3300.0);
}

TEST_CASE("a small clipped patch is found") {
  Film film = noisy_film(12, 20.0, 0.0, 4095.0, 6);
  cv::Mat fill = film.grey(cv::Rect(200, 100, 10, 60));
  fill.setTo(3900.0);
  const Clipping clipping = find_clipping(film);
  REQUIRE(clipping.ceiling.has_value());
  CHECK(*clipping.ceiling <= 3900.0);
  CHECK(clipping.share < 0.01);
  CHECK(clipping.mask.at<std::uint8_t>(130, 205) == 255);
}

TEST_CASE("sharpening after the clipping leaves a little beyond it") {
  Film film = noisy_film(12, 20.0, 700.0, 4095.0, 7);
  // A few pixels overshoot below the level at which the sensor stopped.
  cv::RNG random(8);
  for (int i = 0; i < 300; ++i)
    film.grey.at<float>(random.uniform(0, 400), random.uniform(0, 500)) =
        static_cast<float>(random.uniform(600, 700));
  const Clipping clipping = find_clipping(film);
  REQUIRE(clipping.floor.has_value());
  CHECK(*clipping.floor == 700.0);
}

TEST_CASE("an unexposed border counts as clipped, unusable pixels do not count at all") {
  Film film = noisy_film(12, 20.0, 0.0, 4095.0, 9);
  film.grey.colRange(0, 40).setTo(16.0);
  const Clipping border = find_clipping(film);
  REQUIRE(border.floor.has_value());
  CHECK(*border.floor == 16.0);
  CHECK(border.share == doctest::Approx(40.0 / 500.0));

  film.unusable = cv::Mat::zeros(film.grey.size(), CV_8UC1);
  film.unusable.colRange(0, 40).setTo(255);
  CHECK_FALSE(find_clipping(film).floor.has_value());
}

TEST_CASE("a flat picture is not clipped unless it lies at an end of the scale") {
  Film film = noisy_film(12, 0.0, 0.0, 4095.0, 10);
  film.grey.setTo(1000.0);
  film.grey(cv::Rect(200, 0, 20, 400)).setTo(2000.0);
  CHECK_FALSE(find_clipping(film).floor.has_value());
  film.grey.setTo(0.0);
  CHECK(find_clipping(film).share == 1.0);
}
