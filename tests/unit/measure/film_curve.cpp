// The film's curve: its derivatives against differences, and its inverse, with and without scatter.
#include "film_curve.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace canalrule;

namespace {

constexpr double absorption = 0.03;  ///< per px

double y_at(FilmCurve curve, double q, double bend) {
  curve.bend = bend;
  return curve.at(std::exp(-absorption * q), q).y;
}

}  // namespace

TEST_CASE("slope and derivative by the bend are those of differences") {
  for (const bool scattered : {false, true})
    for (const double q : {0.5, 10.0, 40.0}) {
      CAPTURE(scattered);
      CAPTURE(q);
      // `contrast` is the slope at no thickness where f is f0; here f is 1.3 times that.
      const FilmCurve curve{100.0, 0.006, absorption, scattered, 1.3};
      const FilmCurve::Point at = curve.at(std::exp(-absorption * q), q);
      const double dq = 1e-4, db = 1e-7;
      const double by_q = (y_at(curve, q + dq, curve.bend) - y_at(curve, q - dq, curve.bend)) / (2.0 * dq);
      const double by_bend = (y_at(curve, q, curve.bend + db) - y_at(curve, q, curve.bend - db)) / (2.0 * db);
      CHECK(at.slope == doctest::Approx(by_q).epsilon(1e-6));
      CHECK(at.by_bend == doctest::Approx(by_bend).epsilon(1e-5));
    }
}

TEST_CASE("what a change of radiopacity says of the thickness takes the curve back") {
  for (const bool scattered : {false, true})
    for (const double change : {-8.0, -1.0, 2.0, 6.0}) {
      CAPTURE(scattered);
      CAPTURE(change);
      const FilmCurve curve{100.0, 0.006, absorption, scattered, 1.0};
      const double q = 20.0;
      const FilmCurve::Point at = curve.at(std::exp(-absorption * q), q);
      const double more = y_at(curve, q + change, curve.bend) - at.y;
      CHECK(curve.thickness_change(std::exp(-absorption * q), at.slope, more) == doctest::Approx(change).epsilon(1e-9));
    }
}
