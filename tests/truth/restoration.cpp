// A restoration's foot coronal of a fill, on simulated films, truth by construction. Bounds chosen here.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr double level_mm = 0.05;  ///< of a coronal level; blurred edges of gaps and of fills alike are within it

}  // namespace

TEST_CASE("a restoration that a gap parts from a fill is none of it, however far the path goes on into it") {
  // Hard films whose path ends 0.5 to 1.8 mm within a restoration; display, linear, logarithmic and clipped.
  for (const std::uint64_t seed : {1036, 1063, 2123, 2356}) {
    CAPTURE(seed);
    const Measured film = measured(families::hard_film(seed));
    const CanalResult& canal = film.result.canals.front();
    REQUIRE(canal.coronal_level_mm.has_value());
    CHECK(std::fabs(canal.coronal_level_mm->value - film.truth.canals.front().coronal_level_mm) < level_mm);
    REQUIRE(canal.voids.has_value());
    CHECK(canal.voids->empty());
  }
}

namespace {

/// Usual films, each with a gap of the deficit and length given and `top_mm` of fill coronal of it.
std::vector<Measured> with_gap_below_the_top(int films, double length_mm, double deficit, double top_mm) {
  return on_two_workers(films, [=](int i) {
    families::Choice choice;
    choice.defect = families::WithVoid{phantom::DefectKind::across, length_mm, deficit, 0.6, std::nullopt};
    phantom::Description d = families::usual_film(static_cast<std::uint64_t>(3501 + i), choice);
    phantom::Fill& fill = *d.canals.front().fill;
    fill.defects.front().at_mm = fill.coronal_mm - top_mm - length_mm / 2.0;
    return measured(d);
  });
}

bool level_is_right(const Measured& film) {
  const CanalResult& canal = film.result.canals.front();
  return canal.coronal_level_mm && std::fabs(canal.coronal_level_mm->value -
                                             film.truth.canals.front().coronal_level_mm) < level_mm;
}

bool gap_is_told(const Measured& film) {
  const CanalResult& canal = film.result.canals.front();
  return canal.voids &&
         std::count_if(canal.voids->begin(), canal.voids->end(), [](const Void& v) { return v.score >= 5.0; }) == 1;
}

}  // namespace

TEST_CASE("a short piece of fill coronal of a gap stays fill, and the gap is told") {
  struct Gap {
    double length_mm, deficit, top_mm;
    std::ptrdiff_t least;  // of 8
  };
  for (const Gap& gap : {Gap{0.8, 1.0, 1.5, 8}, Gap{1.5, 1.0, 0.6, 8}, Gap{0.8, 0.6, 0.6, 7}, Gap{0.3, 1.0, 0.5, 8}}) {
    CAPTURE(gap.length_mm);
    CAPTURE(gap.top_mm);
    const std::vector<Measured> all = with_gap_below_the_top(8, gap.length_mm, gap.deficit, gap.top_mm);
    CHECK(std::ranges::count_if(all, level_is_right) >= gap.least);
    CHECK(std::ranges::count_if(all, gap_is_told) >= gap.least);
  }
}
