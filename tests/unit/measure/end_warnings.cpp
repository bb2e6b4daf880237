// The warning that an end moved far from where it was first found.
#include <doctest/doctest.h>

#include <algorithm>
#include <film_families.hpp>
#include <measured.hpp>
#include <string>

#include "canal_figures.hpp"
#include "radiopacity.hpp"

using namespace canalrule;

namespace {

/// Whether the end of a film's fill is called uncertain if it was first found so far from where it is, mm.
auto warning_of(const phantom::Simulated& film) {
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
    return std::any_of(canal.warnings.begin(), canal.warnings.end(),
                       [](const Note& note) { return note.code == "end-uncertain"; });
  };
}

}  // namespace

TEST_CASE("an end among texture more than 0.35 mm from where it was first found is uncertain, one nearer isn't") {
  phantom::Description textured = families::clean_film(4);
  textured.jaw.texture = 0.16;
  const auto warned_at = warning_of(phantom::simulate(textured));
  CHECK_FALSE(warned_at(0.33));
  CHECK_FALSE(warned_at(-0.33));
  CHECK(warned_at(0.37));
  CHECK(warned_at(-0.37));
}

TEST_CASE("an end that stands out over 20 times its surroundings' texture may have been found 0.6 mm off at first") {
  const auto warned_at = warning_of(phantom::simulate(families::clean_film(4)));
  CHECK_FALSE(warned_at(0.58));
  CHECK_FALSE(warned_at(-0.58));
  CHECK(warned_at(0.62));
  CHECK(warned_at(-0.62));
}
