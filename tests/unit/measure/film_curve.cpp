// The film's curve: its derivatives against differences, and its inverse, with and without scatter.
#include "film_curve.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace canalrule;

namespace {

constexpr double absorption = 0.03;  ///< per px

double y_at(const FilmCurve& curve, double q) { return curve.at(std::exp(-absorption * q), q).y; }

/// `contrast` is the slope at no thickness where f is f0; here f is 1.3 times that.
const FilmCurve curves[] = {
    {.contrast = 100.0, .bend = 0.006, .absorption = absorption, .scattered = true, .scatter_ratio = 1.3},
    {.contrast = 100.0, .bend = 0.006, .absorption = absorption},
    {.contrast = 100.0, .bend = 0.006, .absorption = absorption, .turn = 4e-4, .level = -9.0, .share = 1.2},
    {.contrast = 100.0, .bend = -0.01, .absorption = absorption, .turn = -2e-4, .level = 5.0, .share = 0.9},
    {.contrast = 100.0, .bend = 0.002, .absorption = absorption, .turn = -1e-6},
};

}  // namespace

TEST_CASE("slope and derivatives by bend and turn are those of differences") {
  for (const FilmCurve& curve : curves)
    for (const double q : {0.5, 10.0, 40.0}) {
      CAPTURE(curve.turn);
      CAPTURE(q);
      const FilmCurve::Point at = curve.at(std::exp(-absorption * q), q);
      const auto between = [&](double FilmCurve::* parameter, double step) {
        FilmCurve less = curve, more = curve;
        less.*parameter -= step;
        more.*parameter += step;
        return (y_at(more, q) - y_at(less, q)) / (2.0 * step);
      };
      const double dq = 1e-4;
      CHECK(at.slope == doctest::Approx((y_at(curve, q + dq) - y_at(curve, q - dq)) / (2.0 * dq)).epsilon(1e-6));
      CHECK(at.by_bend == doctest::Approx(between(&FilmCurve::bend, 1e-6)).epsilon(1e-5));
      CHECK(at.by_turn == doctest::Approx(curve.scattered ? 0.0 : between(&FilmCurve::turn, 1e-7)).epsilon(1e-5));
    }
}

TEST_CASE("what a change of radiopacity says of the thickness takes the curve back") {
  for (const FilmCurve& curve : curves)
    for (const double change : {-8.0, -1.0, 2.0, 6.0}) {
      CAPTURE(curve.turn);
      CAPTURE(change);
      const double q = 20.0;
      const FilmCurve::Point at = curve.at(std::exp(-absorption * q), q);
      const double more = y_at(curve, q + change) - at.y;
      CHECK(curve.thickness_change(std::exp(-absorption * q), at.slope, more) == doctest::Approx(change).epsilon(1e-9));
    }
}

TEST_CASE("without scatter the curve is a logistic one's, from wherever on it a row begins") {
  // y = 1 / (1 + exp(-x)) has the slope y (1 - y): from y0 on, with x in units of `step` a px of thickness.
  const double step = 0.05, middle = 0.4;
  const auto logistic = [](double x) { return 1.0 / (1.0 + std::exp(-x)); };
  const auto slope = [&](double y) { return y * (1.0 - y) * step; };
  const double k = slope(middle);  // a row's contrast at the mean level; there w = y / k
  const FilmCurve at_middle{.contrast = k,
                            .bend = -(1.0 - 2.0 * middle) * step,
                            .absorption = absorption,
                            .turn = k * step};
  const double x0 = std::log(middle / (1.0 - middle));
  for (const double level : {-8.0, 0.0, 12.0}) {  // thickness whose radiopacity, at the mean row's slope, it is
    const double base = middle + k * level;
    FilmCurve there = at_middle;
    there.level = level;
    there.share = slope(base) / k;
    there.contrast = slope(base);
    const double begins = std::log(base / (1.0 - base));
    for (const double q : {5.0, 25.0, 60.0}) {
      CAPTURE(level);
      CAPTURE(q);
      CHECK(y_at(there, q) == doctest::Approx(logistic(begins + step * q) - base).epsilon(1e-9));
    }
  }
  CHECK(y_at(at_middle, 25.0) == doctest::Approx(logistic(x0 + step * 25.0) - middle).epsilon(1e-9));
}
