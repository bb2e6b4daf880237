// Probability of conformity by JCGM 106:2012, 7: p = Phi((TU - y) / u) - Phi((TL - y) / u). The five values
// for limits 0 and 2 with u = 0.15 were computed from that formula by an independent program and are kept to
// four decimals; Phi(1.4) = 0.919 and Phi(1.7) = 0.955 are those of the document's examples (from memory).
#include <doctest/doctest.h>

#include <cmath>

#include <canalrule/judge/conformity.hpp>

using namespace canalrule;

TEST_CASE("JCGM 106: probability of conformity for limits 0 and 2, u = 0.15") {
  const auto p = [](double y) {
    return probability_of_conformity({y, 0.15}, Limit{0.0, true}, Limit{2.0, true});
  };
  CHECK(std::abs(p(1.5) - 0.9996) < 0.00005);
  CHECK(std::abs(p(1.8) - 0.9088) < 0.00005);
  CHECK(std::abs(p(1.9) - 0.7475) < 0.00005);
  CHECK(std::abs(p(2.0) - 0.5000) < 0.00005);
  CHECK(std::abs(p(2.2) - 0.0912) < 0.00005);
}

TEST_CASE("JCGM 106: one-sided examples") {
  // A standard deviation of 1 and a limit 1.4 or 1.7 above the value.
  CHECK(std::abs(probability_of_conformity({0.0, 1.0}, std::nullopt, Limit{1.4, true}) - 0.919) < 0.0005);
  CHECK(std::abs(probability_of_conformity({0.0, 1.0}, std::nullopt, Limit{1.7, true}) - 0.955) < 0.0005);
  CHECK(std::abs(probability_of_conformity({5.0, 1.0}, Limit{3.6, true}, std::nullopt) - 0.919) < 0.0005);
}

TEST_CASE("JCGM 106: the guard band of 1.645 u leaves 5 % risk of a wrong acceptance") {
  // Acceptance limit A = TU - 1.645 u: a value there conforms with probability 0.95.
  const double u = 0.15;
  const double p = probability_of_conformity({2.0 - 1.645 * u, u}, std::nullopt, Limit{2.0, true});
  CHECK(std::abs(p - 0.95) < 0.0001);
  CHECK(verdict_of(probability_of_conformity({2.0 - 1.65 * u, u}, std::nullopt, Limit{2.0, true}), 0.95) ==
        Verdict::within);
  CHECK(verdict_of(probability_of_conformity({2.0 - 1.64 * u, u}, std::nullopt, Limit{2.0, true}), 0.95) ==
        Verdict::too_close_to_call);
  CHECK(verdict_of(probability_of_conformity({2.0 + 1.65 * u, u}, std::nullopt, Limit{2.0, true}), 0.95) ==
        Verdict::outside);
}
