// The suggestion of the root's end: offered where the film shows it, near the truth, with an honest
// uncertainty. Bounds chosen here.
#include <doctest/doctest.h>

#include <canalrule/geometry/path.hpp>
#include <cmath>
#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 18;  ///< seeds 3001 to 3018
constexpr double bias_mm = 0.05;
constexpr double rms_mm = 0.12;
constexpr double least_offered = 0.4;   ///< share of usual films; bone's texture hides the others'
constexpr int least_told = 5;
constexpr double covered_share = 0.85;  ///< within twice the stated standard uncertainty

/// How far crownwards of the true apex the suggestion lies, along the canal.
double error_mm(const Measured& film, const RootEnd& end) {
  const phantom::TrueCanal& truth = film.truth.canals.front();
  const phantom::TrueCentre* below = nullptr;
  const phantom::TrueCentre* above = nullptr;
  for (const phantom::TrueCentre& at : truth.centre_line) {
    if (at.at_mm < -0.45 || below == nullptr) below = &at;
    if (at.at_mm < 0.55) above = &at;
  }
  const double x = above->position.x - below->position.x, y = above->position.y - below->position.y;
  return ((end.position.x - truth.apex.x) * x + (end.position.y - truth.apex.y) * y) / std::hypot(x, y) *
         film.truth.mm_per_pixel;
}

}  // namespace

TEST_CASE("the root's end on usual films, near the truth where it is offered") {
  Errors errors;
  int canals = 0;
  for (const Measured& film : on_two_workers(films, [](int i) {
         phantom::Description d = families::usual_film(static_cast<std::uint64_t>(3001 + i));
         d.hand.apex_jitter_mm = 0.3;  // the mark is no help
         return measured(d);
       })) {
    const CanalResult& canal = film.result.canals.front();
    if (!canal.terminus) continue;
    ++canals;
    if (!canal.root_end) continue;
    const double error = error_mm(film, *canal.root_end);
    if (std::fabs(error) > 0.3) MESSAGE("seed " << family_seed(film.truth) << ": " << error << " mm");
    errors.add(error, canal.root_end->to_apex_mm.standard_uncertainty);
  }
  MESSAGE("offered on " << errors.count() << " of " << canals << ", bias " << errors.bias() << " mm, RMS "
                        << errors.rms() << ", largest " << errors.largest() << ", over statement "
                        << errors.standardised_rms());
  CHECK(static_cast<double>(errors.count()) >= least_offered * canals);
  CHECK(std::fabs(errors.bias()) <= bias_mm);
  CHECK(errors.rms() <= rms_mm);
  CHECK(errors.coverage(2.0) >= covered_share);
}

TEST_CASE("a mark 1.2 mm from the root's end that the film plainly shows is told, usual seeds 4201 to 4230") {
  for (const double off_mm : {-1.2, 1.2}) {
    int told = 0, seen = 0;
    for (const Measured& film : on_two_workers(30, [&](int i) {
           const phantom::Simulated s = phantom::simulate(families::usual_film(static_cast<std::uint64_t>(4201 + i)));
           Case opened = case_of(s);
           CanalMarks& marks = opened.reading.canals.front();
           const CanalPath path(marks.path, marks.apex, 1.0);
           marks.apex = path.at(off_mm / s.truth.mm_per_pixel);
           return Measured{s.truth, measure(opened)};
         })) {
      const CanalResult& canal = film.result.canals.front();
      told += warned(canal, "apex-off-root-end") ? 1 : 0;
      seen += canal.root_end ? 1 : 0;
    }
    MESSAGE("marked " << off_mm << " mm off: an end seen on " << seen << " of 30, told on " << told);
    CHECK(told >= least_told);
  }
}

TEST_CASE("no root's end is offered where the film doesn't reach beyond the apex") {
  const phantom::Simulated film = phantom::simulate(families::clean_film(3));
  Case opened = case_of(film);
  REQUIRE(measure(opened).canals.front().root_end.has_value());
  // Cut off 0.4 mm beyond the apex.
  const int rows = static_cast<int>(film.truth.apex.y + 0.4 / film.truth.mm_per_pixel);
  REQUIRE(rows < film.film.grey.rows);
  opened.film.grey = film.film.grey.rowRange(0, rows).clone();
  CHECK_FALSE(measure(opened).canals.front().root_end.has_value());
}
