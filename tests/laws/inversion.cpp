// A film's grey inverted or put on another scale shows the same tooth. Simulated films of usual quality.
#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

#include "changed.hpp"

using namespace canalrule;
using namespace canalrule_test;

namespace {

Case usual(std::uint64_t seed) { return case_of(phantom::simulate(families::usual_film(seed))); }

}  // namespace

TEST_CASE("inverted, the other side said to be radiopaque or nothing said, seeds 31 to 38") {
  struct Three {
    Result as_it_is, said, unsaid;
  };
  for (const Three& film : on_two_workers(8, [](int i) {
         const Case opened = usual(static_cast<std::uint64_t>(31 + i));
         return Three{measure(opened), measure(inverted(opened, Told::other_side)),
                      measure(inverted(opened, Told::nothing))};
       })) {
    check_same_to_rounding(film.as_it_is, film.said);
    check_same_to_rounding(film.as_it_is, film.unsaid);
    CHECK(film.unsaid.film.radiopaque != film.as_it_is.film.radiopaque);
    CHECK(film.unsaid.film.radiopaque == film.said.film.radiopaque);
  }
}

TEST_CASE("which side is radiopaque is told from the film, seeds 39 to 48") {
  // Both as simulated and inverted, with nothing said by film or reading.
  int told = 0;
  for (const int right : on_two_workers(10, [](int i) {
         Case opened = usual(static_cast<std::uint64_t>(39 + i));
         const std::string truth = opened.reading.radiopaque == Radiopaque::dark ? "dark" : "bright";
         const Case other = inverted(opened, Told::nothing);
         opened.reading.radiopaque.reset();
         return (measure(opened).film.radiopaque == truth ? 1 : 0) +
                (measure(other).film.radiopaque != truth ? 1 : 0);
       }))
    told += right;
  CHECK(told == 20);
}

TEST_CASE("rescaled as by DICOM's Rescale Slope and Intercept, seeds 41 to 46") {
  struct Two {
    Result before, after;
  };
  for (const Two& film : on_two_workers(6, [](int i) {
         const Case opened = usual(static_cast<std::uint64_t>(41 + i));
         return Two{measure(opened), measure(rescaled(opened, 0.37, -1024.0))};
       }))
    check_same_to_rounding(film.before, film.after);
}

TEST_CASE("put on a wider scale of grey, films that are not linear in exposure among seeds 51 to 60") {
  struct Two {
    bool linear = false;
    Result before, after;
  };
  int compared = 0;
  for (const Two& film : on_two_workers(10, [](int i) {
         const Case opened = usual(static_cast<std::uint64_t>(51 + i));
         if (opened.reading.response == Response::linear) return Two{true, {}, {}};
         return Two{false, measure(opened), measure(on_wider_scale(opened, 7, 3000))};
       })) {
    if (film.linear) continue;
    ++compared;
    check_same_millimetres(film.before, film.after);
  }
  CHECK(compared >= 5);
}
