// How well an apex mark is known: stated, repeated, or assumed.
#include "apex_mark.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace canalrule;

namespace {

CanalMarks marks_at(double y) {
  CanalMarks marks;
  marks.path = {{200.0, 100.0}, {200.0, 350.0}, {200.0, 600.0}};
  marks.apex = {200.0, y};
  return marks;
}

UncertaintyPart part_of(const CanalMarks& marks) {
  return apex_mark(marks, CanalPath(marks.path, marks.apex, 1.0), 0.03);
}

}  // namespace

TEST_CASE("without a word in the reading the apex mark's uncertainty is an assumption, and says so") {
  const UncertaintyPart part = part_of(marks_at(600.0));
  CHECK(part.source == "apex mark");
  CHECK(part.standard_uncertainty_mm == doctest::Approx(0.05));
  CHECK(part.basis == "an assumption");
}

TEST_CASE("repeated marks give their standard deviation along the canal, by the scaled t distribution") {
  CanalMarks marks = marks_at(600.0);
  // Along the canal -4, 0, 2 and 6 px about 601; what lies across it doesn't count.
  marks.apex_marks = {{190.0, 596.0}, {203.0, 602.0}, {207.0, 606.0}};
  const double squares = 1.0 + 25.0 + 1.0 + 25.0;
  const UncertaintyPart part = part_of(marks);
  // n = 4: s^2 = squares / 3, times (n - 1) / (n - 3) = 3.
  CHECK(part.standard_uncertainty_mm == doctest::Approx(0.03 * std::sqrt(squares / 3.0 * 3.0)));
  CHECK(part.basis == "4 marks in the reading");
}

TEST_CASE("marks copied onto one point are no surer than a click") {
  CanalMarks marks = marks_at(600.0);
  marks.apex_marks = {marks.apex, marks.apex, marks.apex};
  CHECK(part_of(marks).standard_uncertainty_mm == doctest::Approx(0.5 * 0.03));
}

TEST_CASE("what the reading states goes before its repeated marks") {
  CanalMarks marks = marks_at(600.0);
  marks.apex_marks = {{190.0, 596.0}, {203.0, 602.0}, {207.0, 606.0}};
  marks.apex_uncertainty_mm = 0.2;
  CHECK(part_of(marks).standard_uncertainty_mm == doctest::Approx(0.2));
  CHECK(part_of(marks).basis == "stated in the reading");
}
