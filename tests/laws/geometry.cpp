// A film mirrored, turned, cropped or resampled shows the same tooth: the same millimetres. Simulated films
// of usual quality, seeds stated with each law.
#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

#include "changed.hpp"

using namespace canalrule;
using namespace canalrule_test;

namespace {

struct Pair {
  Result before, after;
};

/// Each seed's usual film measured as it is and changed.
template <class Change>
std::vector<Pair> before_and_after(const std::vector<std::uint64_t>& seeds, Change change) {
  return on_two_workers(static_cast<int>(seeds.size()), [&](int i) {
    const Case opened = case_of(phantom::simulate(families::usual_film(seeds[static_cast<std::size_t>(i)])));
    return Pair{measure(opened), measure(change(opened))};
  });
}

}  // namespace

TEST_CASE("mirrored, seeds 1 to 6") {
  for (const Pair& film : before_and_after({1, 2, 3, 4, 5, 6}, mirrored))
    check_same_to_rounding(film.before, film.after);
}

TEST_CASE("turned by 90, 180 and 270 degrees, seeds 7 to 10") {
  for (int quarters = 1; quarters <= 3; ++quarters) {
    CAPTURE(quarters);
    for (const Pair& film :
         before_and_after({7, 8, 9, 10}, [&](const Case& opened) { return turned(opened, quarters); }))
      check_same_to_rounding(film.before, film.after);
  }
}

TEST_CASE("cropped by 23 columns and 31 rows, seeds 11 to 14") {
  for (const Pair& film :
       before_and_after({11, 12, 13, 14}, [](const Case& opened) { return cropped(opened, 23, 31); }))
    check_same_millimetres(film.before, film.after);
}

TEST_CASE("resampled to pixels of 0.8 and 1.2 times the size, seeds 15 to 20") {
  for (const double factor : {1.0 / 0.8, 1.0 / 1.2}) {
    CAPTURE(factor);
    for (const Pair& film : before_and_after(
             {15, 16, 17, 18, 19, 20}, [&](const Case& opened) { return resampled(opened, factor, factor); }))
      check_same_millimetres(film.before, film.after);
  }
}

TEST_CASE("a fill stands out as much whatever the pixel's size: resampled to pixels 1.8 times as large, seeds 15 to 20") {
  for (const Pair& film : before_and_after({15, 16, 17, 18, 19, 20}, [](const Case& opened) {
         return resampled(opened, 1.0 / 1.8, 1.0 / 1.8);
       })) {
    REQUIRE(film.before.canals.front().film.contrast_to_texture.has_value());
    REQUIRE(film.after.canals.front().film.contrast_to_texture.has_value());
    const double before = *film.before.canals.front().film.contrast_to_texture;
    const double after = *film.after.canals.front().film.contrast_to_texture;
    CHECK(after == doctest::Approx(before).epsilon(0.2));
  }
}

TEST_CASE("resampled to pixels a quarter taller than wide, and wider than tall, seeds 21 to 24") {
  for (const bool taller : {true, false}) {
    CAPTURE(taller);
    for (const Pair& film : before_and_after({21, 22, 23, 24}, [&](const Case& opened) {
           return resampled(opened, taller ? 1.0 : 0.8, taller ? 0.8 : 1.0);
         }))
      check_same_millimetres(film.before, film.after);
  }
}
