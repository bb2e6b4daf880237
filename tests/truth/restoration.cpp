// A restoration's foot coronal of a fill, on simulated films, truth by construction. Bounds chosen here.
#include <algorithm>
#include <cmath>
#include <cstdint>

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

TEST_CASE("a short piece of fill coronal of a complete gap stays fill") {
  for (const Measured& film : on_two_workers(8, [](int i) {
         families::Choice choice;
         choice.defect = families::WithVoid{phantom::DefectKind::across, 0.8, 1.0, 0.6, std::nullopt};
         phantom::Description d = families::usual_film(static_cast<std::uint64_t>(3501 + i), choice);
         phantom::Fill& fill = *d.canals.front().fill;
         fill.defects.front().at_mm = fill.coronal_mm - 1.9;
         return measured(d);
       })) {
    const CanalResult& canal = film.result.canals.front();
    const phantom::TrueCanal& truth = film.truth.canals.front();
    CAPTURE(family_seed(film.truth));
    REQUIRE(canal.coronal_level_mm.has_value());
    CHECK(std::fabs(canal.coronal_level_mm->value - truth.coronal_level_mm) < level_mm);
    REQUIRE(canal.voids.has_value());
    CHECK(std::count_if(canal.voids->begin(), canal.voids->end(), [](const Void& v) { return v.score >= 5.0; }) == 1);
  }
}
