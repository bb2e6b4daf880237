// A path may be drawn anywhere: where no fill lies the film says so, and the program never stops.
#include <doctest/doctest.h>

#include <canalrule/record/result.hpp>
#include <random>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

TEST_CASE("paths drawn anywhere, in any direction, give figures or a reason: 120 on usual and hard seeds 81 and 82") {
  std::mt19937_64 random(81);
  const auto between = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11U) * 0x1p-53;
  };
  for (const std::uint64_t seed : {81, 82})
    for (const bool hard : {false, true}) {
      Case opened = case_of(phantom::simulate(hard ? families::hard_film(seed) : families::usual_film(seed)));
      opened.reading.canals.resize(1);
      const double columns = opened.film.grey.cols, rows = opened.film.grey.rows;
      for (int i = 0; i < 30; ++i) {
        const Point apex{between(0.0, columns), between(0.0, rows)};
        const Point coronal{apex.x + between(-80.0, 80.0), apex.y + between(-400.0, 400.0)};
        CanalMarks& marks = opened.reading.canals.front();
        marks.apex = apex;
        marks.path = {coronal, apex};
        if (i % 3 == 0) opened.reading.radiopaque.reset();
        CAPTURE(seed);
        CAPTURE(hard);
        CAPTURE(apex.x);
        CAPTURE(apex.y);
        CAPTURE(coronal.x);
        CAPTURE(coronal.y);
        const CanalResult got = measure(opened).canals.front();
        CHECK((got.terminus.has_value() || !got.not_assessable.empty()));
      }
    }
}
