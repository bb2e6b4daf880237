// Gaps along a wall that are so long that the outline follows them, on simulated films, truth by construction. Bounds
// chosen here: with nothing known of notches and the centre not led through such a gap, 9 and 13 of the 20 films show
// it, and 11 and 9 breaks of the taper are told where there is none.
#include <algorithm>

#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 20;  ///< seeds 3501 to 3520
constexpr double least_score = 5.0;

const Void* found_there(const CanalResult& canal, const phantom::TrueVoid& truth) {
  if (!canal.voids) return nullptr;
  const auto found = std::find_if(canal.voids->begin(), canal.voids->end(), [&](const Void& one) {
    return one.score >= least_score && one.from_mm < truth.to_mm && one.to_mm > truth.from_mm;
  });
  return found == canal.voids->end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("a long gap along a wall is told as one, and not as a narrower fill") {
  struct Gap {
    double length_mm, deficit, width_share;
    int least_found, most_breaks;
  };
  for (const Gap& gap : {Gap{2.0, 1.0, 0.25, 13, 5}, Gap{1.5, 0.6, 0.3, 18, 2}}) {
    families::Choice with_gap;
    with_gap.defect = families::WithVoid{phantom::DefectKind::along_wall, gap.length_mm, gap.deficit, gap.width_share,
                                         std::nullopt};
    int found = 0, along_wall = 0, breaks = 0;
    for (const Measured& film : on_two_workers(films, [&](int i) {
           return measured(families::usual_film(static_cast<std::uint64_t>(3501 + i), with_gap));
         })) {
      const CanalResult& canal = film.result.canals.front();
      const phantom::TrueCanal& truth = film.truth.canals.front();
      REQUIRE(truth.voids.size() == 1);
      breaks += static_cast<int>(canal.taper.breaks.size());
      const Void* one = found_there(canal, truth.voids.front());
      if (one == nullptr) {
        MESSAGE("not found on seed " << family_seed(film.truth) << " (" << film.truth.response << "), from "
                                     << truth.voids.front().from_mm << " to " << truth.voids.front().to_mm);
        continue;
      }
      ++found;
      if (one->kind == VoidKind::along_wall) ++along_wall;
    }
    MESSAGE(gap.length_mm << " mm, deficit " << gap.deficit << ": found " << found << ", along a wall " << along_wall
                          << ", breaks " << breaks);
    CHECK(found >= gap.least_found);
    CHECK(along_wall == found);
    CHECK(breaks <= gap.most_breaks);
  }
}

TEST_CASE("a step of the width is no gap along a wall") {
  families::Choice with_break;
  with_break.with_break = true;
  for (const Measured& film : on_two_workers(films, [&](int i) {
         return measured(families::usual_film(static_cast<std::uint64_t>(3501 + i), with_break));
       })) {
    const CanalResult& canal = film.result.canals.front();
    REQUIRE(canal.voids.has_value());
    CAPTURE(family_seed(film.truth));
    CHECK(std::none_of(canal.voids->begin(), canal.voids->end(),
                       [](const Void& one) { return one.score >= least_score; }));
  }
}
