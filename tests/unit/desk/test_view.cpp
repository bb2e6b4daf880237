// How a film is shown, and that this changes nothing of it.
#include <canalrule/desk/view.hpp>

#include <cmath>
#include <cstdint>

#include <doctest/doctest.h>
#include <opencv2/core.hpp>

using namespace canalrule;
using namespace canalrule::desk;

namespace {

/// Grey 1000 to 3999, rising to the right.
Film ramp() {
  Film film;
  film.grey.create(40, 300, CV_32FC1);
  for (int row = 0; row < 40; ++row)
    for (int column = 0; column < 300; ++column)
      film.grey.at<float>(row, column) = 1000.0F + 10.0F * static_cast<float>(column);
  film.lowest_grey = 0;
  film.highest_grey = 4095;
  film.bits_stored = 12;
  return film;
}

int at(const cv::Mat& picture, int column) { return picture.at<std::uint8_t>(20, column); }

}  // namespace

TEST_CASE("a tone maps its window linearly from black to white, and inverted the other way") {
  const Film film = ramp();
  const Tone tone{2500.0, 1000.0, Shown::as_stored};
  const cv::Mat picture = shown_picture(film, tone);
  CHECK(picture.type() == CV_8UC1);
  CHECK(picture.size() == film.grey.size());
  CHECK(at(picture, 0) == 0);
  CHECK(at(picture, 100) == 0);
  CHECK(at(picture, 299) == 255);
  CHECK(std::abs(at(picture, 150) - 128) <= 1);
  CHECK(std::abs(at(picture, 175) - 191) <= 1);
  Tone other = tone;
  other.shown = Shown::inverted;
  const cv::Mat inverted = shown_picture(film, other);
  for (int column = 0; column < 300; ++column)
    CHECK(std::abs(at(picture, column) + at(inverted, column) - 255) <= 1);
}

TEST_CASE("a film whose dark is radiopaque is shown with radiopaque bright") {
  Film film = ramp();
  film.radiopaque = Radiopaque::dark;
  const cv::Mat picture = shown_picture(film, {2500.0, 1000.0, Shown::as_stored});
  CHECK(at(picture, 0) == 255);
  CHECK(at(picture, 299) == 0);
}

TEST_CASE("looking changes no grey value") {
  const Film film = ramp();
  const cv::Mat before = film.grey.clone();
  Drawing drawing;
  drawing.canals.push_back({"1", {{50, 5}, {90, 35}}, Point{90, 35}, LineSource::drawn, {}, {}, {}});
  Tone tone = automatic_tone(film, drawing);
  tone = dragged(tone, film, 30, 80);
  (void)shown_picture(film, tone);
  (void)shown_picture(film, tone, {10, 10, 9, 9});
  CHECK(cv::norm(film.grey, before, cv::NORM_INF) == 0.0);
}

TEST_CASE("pixels without film are mid-grey, and take no part in an automatic tone") {
  Film film = ramp();
  film.unusable = cv::Mat::zeros(film.grey.size(), CV_8UC1);
  film.unusable.colRange(200, 300).setTo(255);
  film.grey.colRange(200, 300).setTo(60000.0F);
  const Tone tone = automatic_tone(film);
  CHECK(tone.centre + tone.width / 2 < 3000.0);
  CHECK(at(shown_picture(film, tone), 250) == 128);
}

TEST_CASE("the automatic tone spans the film, or the tooth's own range") {
  const Film film = ramp();
  const Tone all = automatic_tone(film);
  CHECK(all.centre == doctest::Approx(2495).epsilon(0.01));
  CHECK(all.width == doctest::Approx(2960).epsilon(0.01));
  Drawing drawing;
  drawing.canals.push_back({"1", {{100, 5}, {150, 35}}, Point{150, 35}, LineSource::drawn, {}, {}, {}});
  const Tone tooth = automatic_tone(film, drawing);
  // Columns 90 to 160: grey 1900 to 2600.
  CHECK(tooth.centre == doctest::Approx(2250).epsilon(0.01));
  CHECK(tooth.width == doctest::Approx(700).epsilon(0.03));
  CHECK(automatic_tone(film, {}) == all);
  // One bright marker in a hundred pixels doesn't take the range.
  Film marked = film;
  marked.grey = film.grey.clone();
  marked.grey.at<float>(3, 3) = 4095.0F;
  CHECK(automatic_tone(marked).width == doctest::Approx(all.width).epsilon(0.01));
}

TEST_CASE("a flat film has a tone too") {
  Film film = ramp();
  film.grey.setTo(7.0F);
  const Tone tone = automatic_tone(film);
  CHECK(tone.width > 0.0);
  CHECK(std::abs(at(shown_picture(film, tone), 3) - 128) <= 1);
}

TEST_CASE("dragging to the right brightens and downwards flattens, in either view") {
  const Film film = ramp();
  for (const Shown shown : {Shown::as_stored, Shown::inverted}) {
    const Tone tone{2500.0, 2000.0, shown};
    CHECK(at(shown_picture(film, dragged(tone, film, 50, 0)), 150) > at(shown_picture(film, tone), 150));
    CHECK(dragged(tone, film, 0, 100).width == doctest::Approx(4000.0));
    CHECK(dragged(tone, film, 0, -100).width == doctest::Approx(1000.0));
    // Back to where it was.
    CHECK(dragged(dragged(tone, film, 0, 37), film, 0, -37).width == doctest::Approx(tone.width));
    CHECK(dragged(tone, film, 0, 1e6).width <= 10.0 * 4095);
    CHECK(dragged(tone, film, 0, -1e6).width > 0.0);
  }
}

TEST_CASE("a part of the picture is that part of the whole, cut at the film's edge") {
  const Film film = ramp();
  const Tone tone = automatic_tone(film);
  const cv::Mat whole = shown_picture(film, tone);
  const cv::Mat part = shown_picture(film, tone, {290, 30, 20, 20});
  CHECK(part.size() == cv::Size(10, 10));
  CHECK(cv::norm(part, whole(cv::Rect(290, 30, 10, 10)), cv::NORM_INF) == 0.0);
}

TEST_CASE("the grey under a point is the stored value") {
  Film film = ramp();
  CHECK(grey_under(film, {12.99, 3.0}) == std::optional<double>(1120.0));
  CHECK(grey_under(film, {0, 0}) == std::optional<double>(1000.0));
  CHECK_FALSE(grey_under(film, {300.0, 3.0}));
  CHECK_FALSE(grey_under(film, {-0.01, 3.0}));
  film.unusable = cv::Mat::zeros(film.grey.size(), CV_8UC1);
  film.unusable.at<std::uint8_t>(3, 12) = 255;
  CHECK_FALSE(grey_under(film, {12.5, 3.5}));
}
