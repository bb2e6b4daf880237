#include <doctest/doctest.h>

#include <canalrule/judge/conformity.hpp>

#include "results.hpp"

using namespace canalrule_test;

TEST_CASE("without uncertainty a value conforms or it doesn't, and the edge is as the limit says") {
  const auto p = [](double value, bool inclusive) {
    return probability_of_conformity({value, 0.0}, Limit{0.0, inclusive}, Limit{2.0, inclusive});
  };
  CHECK(p(0.0, true) == 1.0);
  CHECK(p(2.0, true) == 1.0);
  CHECK(p(0.0, false) == 0.0);
  CHECK(p(2.0, false) == 0.0);
  CHECK(p(1.0, false) == 1.0);
  CHECK(p(2.001, true) == 0.0);
  CHECK(p(-0.001, true) == 0.0);
}

TEST_CASE("a missing limit is infinitely far") {
  CHECK(probability_of_conformity({5.0, 1.0}, std::nullopt, std::nullopt) == 1.0);
  CHECK(probability_of_conformity({5.0, 1.0}, Limit{5.0, true}, std::nullopt) == doctest::Approx(0.5));
  CHECK(probability_of_conformity({5.0, 1.0}, std::nullopt, Limit{5.0, true}) == doctest::Approx(0.5));
}

TEST_CASE("inside and outside of the limits add up to one") {
  for (double value = -1.0; value < 4.0; value += 0.25) {
    const Quantity figure{value, 0.3};
    const double inside = probability_of_conformity(figure, Limit{0.0, true}, Limit{2.0, true});
    const double below = probability_of_conformity(figure, std::nullopt, Limit{0.0, false});
    const double above = probability_of_conformity(figure, Limit{2.0, false}, std::nullopt);
    CHECK(inside + below + above == doctest::Approx(1.0).epsilon(1e-12));
  }
}

TEST_CASE("the verdict at its edges") {
  CHECK(verdict_of(0.95, 0.95) == Verdict::within);
  CHECK(verdict_of(0.9499, 0.95) == Verdict::too_close_to_call);
  CHECK(verdict_of(0.0501, 0.95) == Verdict::too_close_to_call);
  CHECK(verdict_of(0.0499, 0.95) == Verdict::outside);
  CHECK(verdict_of(0.6, 0.6) == Verdict::within);
  CHECK(verdict_of(0.3, 0.6) == Verdict::outside);
}

TEST_CASE("a void counts with the product of its three probabilities") {
  const VoidSelection selection{5.0, 0.3, 0.2, std::nullopt};
  CHECK(probability_that_it_counts(void_of(4, {0.6, 0.05}, 9.0), selection) ==
        doctest::Approx(1.0).epsilon(1e-4));
  CHECK(probability_that_it_counts(void_of(4, {0.6, 0.05}, 5.0), selection) ==
        doctest::Approx(0.5).epsilon(1e-6));
  CHECK(probability_that_it_counts(void_of(4, {0.3, 0.05}, 5.0), selection) ==
        doctest::Approx(0.25).epsilon(1e-6));
  CHECK(probability_that_it_counts(void_of(4, {0.3, 0.05}, 5.0, {0.2, 0.1}), selection) ==
        doctest::Approx(0.125).epsilon(1e-6));
  // One standard deviation below the score: Phi(-1) = 0.1587.
  CHECK(probability_that_it_counts(void_of(4, {3.0, 0.05}, 4.0, {0.9, 0.01}), selection) ==
        doctest::Approx(0.15866).epsilon(1e-4));
}

TEST_CASE("a void of another third never counts") {
  CHECK(probability_that_it_counts(void_of(4, {1.0, 0.05}, 9.0), {5.0, 0.0, 0.0, Third::apical}) == 0.0);
  CHECK(probability_that_it_counts(void_of(4, {1.0, 0.05}, 9.0), {5.0, 0.0, 0.0, Third::middle}) > 0.99);
}
