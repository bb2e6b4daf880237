#include "local_basis.hpp"

#include <cmath>
#include <numeric>

#include <doctest/doctest.h>

using canalrule::LocalBasis;

TEST_CASE("cubic B-splines add to one, at and between the knots, and beyond the ends") {
  const LocalBasis basis = LocalBasis::over(-3.0, 17.0, 1.3);
  for (double place = -6.0; place <= 20.0; place += 0.0625) {
    const LocalBasis::Weights w = basis.at(place);
    CHECK(std::accumulate(w.value.begin(), w.value.end(), 0.0) == doctest::Approx(1.0).epsilon(1e-12));
    CHECK(w.first >= 0);
    CHECK(w.first + 4 <= basis.count);
    for (const double v : w.value) CHECK(v >= -1e-15);
  }
}

TEST_CASE("their values at a knot are 1/6, 2/3, 1/6 (de Boor 1978, ch. X)") {
  const LocalBasis basis{0.0, 2.0, 9};
  const LocalBasis::Weights w = basis.at(4.0);
  CHECK(w.first == 2);
  CHECK(w.value[0] == doctest::Approx(1.0 / 6.0));
  CHECK(w.value[1] == doctest::Approx(2.0 / 3.0));
  CHECK(w.value[2] == doctest::Approx(1.0 / 6.0));
  CHECK(std::fabs(w.value[3]) < 1e-15);
}

TEST_CASE("coefficients on a straight line give that line") {
  const LocalBasis basis = LocalBasis::over(0.0, 10.0, 2.5);
  // Coefficient k belongs to the place first + (k - 1) step.
  for (const double place : {0.0, 0.7, 4.9, 9.99, 10.0}) {
    const LocalBasis::Weights w = basis.at(place);
    double sum = 0.0;
    for (std::size_t k = 0; k < 4; ++k)
      sum += w.value[k] *
             (3.0 + 0.5 * (basis.first +
                           (static_cast<double>(w.first) + static_cast<double>(k) - 1.0) * basis.step));
    CHECK(sum == doctest::Approx(3.0 + 0.5 * place).epsilon(1e-12));
  }
}

TEST_CASE("a stretch shorter than the distance of knots still has its four functions") {
  const LocalBasis basis = LocalBasis::over(1.0, 1.5, 4.0);
  CHECK(basis.count == 4);
  CHECK(basis.step == doctest::Approx(0.5));
}
