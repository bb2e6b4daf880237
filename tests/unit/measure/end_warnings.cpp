// The warning that an end moved far from where it was first found.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <film_families.hpp>
#include <measured.hpp>
#include <string>

#include "canal_figures.hpp"
#include "radiopacity.hpp"

using namespace canalrule;

namespace {

struct Doubt {
  bool warned = false;
  double u_outline_mm = 0.0;
};

/// Whether the end of a film's fill is called uncertain, and how uncertain it is, if it was first found so far from
/// where it is, mm.
auto doubt_of(const phantom::Simulated& film) {
  const CanalMarks& marks = film.reading.canals.front();
  FilmOnBench bench;
  bench.mm_per_px = film.truth.mm_per_pixel;
  bench.display = false;
  bench.radiopacity = radiopacity_plane(film.film, Response::log, Radiopaque::bright,
                                        cv::Rect(0, 0, film.film.grey.cols, film.film.grey.rows),
                                        bench.mm_per_px);
  const FollowedOrNot answer = refuse_what_is_no_fill(bench, follow_fill(bench, marks, {}));
  REQUIRE(answer.followed.has_value());
  ScaleResult scale;
  scale.mm_per_pixel = bench.mm_per_px;
  scale.standard_uncertainty = 0.001 * bench.mm_per_px;
  return [=](double travelled_mm) {
    Followed followed = *answer.followed;
    const CanalResult as_found = canal_figures(bench, scale, {}, marks, followed, {});
    followed.first_end_px = (as_found.terminus->to_apex_mm + travelled_mm) / bench.mm_per_px;
    const CanalResult canal = canal_figures(bench, scale, {}, marks, followed, {});
    const bool warned = std::any_of(canal.warnings.begin(), canal.warnings.end(),
                                    [](const Note& note) { return note.code == "end-uncertain"; });
    return Doubt{warned, canal.terminus->parts.front().standard_uncertainty_mm};
  };
}

}  // namespace

TEST_CASE("an end among texture more than 0.35 mm from where it was first found is uncertain, one nearer isn't") {
  phantom::Description textured = families::clean_film(4);
  textured.jaw.texture = 0.16;
  const auto doubt_at = doubt_of(phantom::simulate(textured));
  for (const double side : {1.0, -1.0}) {
    CHECK_FALSE(doubt_at(0.33 * side).warned);
    CHECK(doubt_at(0.37 * side).warned);
  }
}

TEST_CASE("an end that stands out over 20 times its surroundings' texture may have been found 0.6 mm off at first") {
  const auto doubt_at = doubt_of(phantom::simulate(families::clean_film(4)));
  for (const double side : {1.0, -1.0}) {
    CHECK_FALSE(doubt_at(0.58 * side).warned);
    CHECK(doubt_at(0.62 * side).warned);
  }
}

TEST_CASE("an uncertain end may lie anywhere between where it is and was first found, to both sides") {
  const auto doubt_at = doubt_of(phantom::simulate(families::clean_film(4)));
  const double usual = doubt_at(0.0).u_outline_mm;
  CHECK(usual < 0.02);
  CHECK(doubt_at(0.58).u_outline_mm == doctest::Approx(usual));
  // A rectangular distribution's standard deviation, JCGM 100:2008, 4.3.7.
  for (const double travelled_mm : {-0.9, 0.7})
    CHECK(doubt_at(travelled_mm).u_outline_mm ==
          doctest::Approx(std::hypot(usual, travelled_mm / std::sqrt(3.0))).epsilon(1e-3));
}
