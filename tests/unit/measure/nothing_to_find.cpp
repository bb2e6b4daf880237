// Films without a fill: a reason, not a crash and not a guess.
#include <algorithm>
#include <random>
#include <string>

#include <doctest/doctest.h>

#include "follow.hpp"
#include "radiopacity.hpp"
#include "trace.hpp"

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;

namespace {

Strip blank_strip(double level) {
  Strip strip;
  strip.grid = {-80.0, -40.0, 1.0, 500, 81};
  strip.value = cv::Mat(strip.grid.rows, strip.grid.columns, CV_32FC1, cv::Scalar(level));
  strip.usable = cv::Mat(strip.grid.rows, strip.grid.columns, CV_8UC1, cv::Scalar(255));
  return strip;
}

/// Nothing else lies on the strip.
const cv::Mat all_of_it(500, 81, CV_8UC1, cv::Scalar(255));

FilmOnBench blank_film(double level) {
  FilmOnBench film;
  film.radiopacity = cv::Mat(800, 500, CV_32FC1, cv::Scalar(level));
  return film;
}

CanalMarks upright_marks() {
  CanalMarks marks;
  marks.name = "1";
  marks.path = {{250.0, 150.0}, {253.0, 300.0}, {248.0, 450.0}, {250.0, 600.0}};
  marks.apex = {250.0, 600.0};
  return marks;
}

/// Whether every figure is empty, with a reason and a sentence.
bool told_without_figures(const CanalResult& canal) {
  const bool empty = !canal.terminus && !canal.coronal_level_mm && !canal.filled_length_mm && !canal.voids &&
                     canal.width.empty() && !canal.taper.overall && !canal.taper.apical &&
                     !canal.taper.middle && !canal.taper.coronal && canal.taper.breaks.empty() &&
                     !canal.taper.largest_reversal;
  const auto told = [&](const std::string& figure) {
    return std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(), [&](const NotAssessable& n) {
      return n.figure == figure && !n.from_mm && !n.reason.empty() && !n.text.empty();
    });
  };
  return empty && told("terminus") && told("voids") && told("width") && told("taper.overall");
}

}  // namespace

TEST_CASE("of a film of one grey nothing says that radiopaque is dark") {
  Film film;
  film.bits_stored = 8;
  film.highest_grey = 255.0;
  const CanalMarks marks = upright_marks();
  const std::vector<CanalPath> paths{CanalPath(marks.path, marks.apex, 1.0)};
  for (const double level : {0.0, 100.0, 211.7}) {
    film.grey = cv::Mat(800, 500, CV_32FC1, cv::Scalar(level));
    CHECK(find_polarity(film, paths, 0.03) == Radiopaque::bright);
  }
}

TEST_CASE("a strip of one grey has no fill") {
  for (const double level : {0.0, 1234.0}) {
    CAPTURE(level);
    const SearchFound found = search_fill(blank_strip(level), all_of_it, {}, 0.03, 0.0, 400.0, {usual_hand_weight, greatest_radius_mm});
    CHECK_FALSE(found.search.has_value());
    CHECK(found.why == NoTrace::no_fill);
  }
}

TEST_CASE("a strip off the film is called that") {
  Strip strip = blank_strip(0.0);
  strip.usable.setTo(0);
  const SearchFound found = search_fill(strip, all_of_it, {}, 0.03, 0.0, 400.0, {usual_hand_weight, greatest_radius_mm});
  CHECK_FALSE(found.search.has_value());
  CHECK(found.why == NoTrace::off_film);
}

TEST_CASE("nothing is followed on a film of noise alone, seeds 0 to 5") {
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 engine(seed);
    FilmOnBench film = blank_film(1000.0);
    for (int i = 0; i < film.radiopacity.rows; ++i)
      for (int j = 0; j < film.radiopacity.cols; ++j)
        film.radiopacity.at<float>(i, j) +=
            static_cast<float>(40.0 * static_cast<double>(engine() >> 11) * 0x1.0p-53);
    CHECK_FALSE(refuse_what_is_no_fill(film, follow_fill(film, upright_marks(), {})).followed.has_value());
  }
}

TEST_CASE("a path off the film is called that") {
  CanalMarks marks = upright_marks();
  for (Point& p : marks.path) p.x += 2000.0;
  marks.apex.x += 2000.0;
  const FollowedOrNot answer = follow_fill(blank_film(1000.0), marks, {});
  CHECK_FALSE(answer.followed.has_value());
  CHECK(answer.why == NoTrace::off_film);
}

TEST_CASE("an unfilled canal is told of, with every figure empty: usual films, seeds 1 to 10") {
  int told = 0;
  for (const canalrule_test::Measured& all : canalrule_test::on_two_workers(10, [](int i) {
         phantom::Description film = families::usual_film(static_cast<std::uint64_t>(i + 1));
         film.canals.front().fill.reset();
         return canalrule_test::measured(film);
       })) {
    REQUIRE(all.result.canals.size() == 1);
    const CanalResult& canal = all.result.canals.front();
    if (canal.terminus)
      MESSAGE("a fill is seen from " << canal.terminus->to_apex_mm << " to " << canal.coronal_level_mm->value
                                     << " mm, contrast over texture "
                                     << canal.film.contrast_to_texture.value_or(0.0));
    if (told_without_figures(canal)) ++told;
  }
  CHECK(told == 10);
}

TEST_CASE("a film of one grey is told of, with every figure empty") {
  Case opened = canalrule_test::case_of(phantom::simulate(families::usual_film(1)));
  opened.film.grey.setTo(800.0);
  const Result result = measure(opened);
  REQUIRE(result.canals.size() == 1);
  CHECK(told_without_figures(result.canals.front()));
}
