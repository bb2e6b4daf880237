// The fill against its plan: the cone's geometry (ISO 3630-1, from memory), the working length, the backfill.
#include "plan.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

using namespace canalrule;

namespace {

constexpr double relative_scale = 0.005;

ScaleResult scale_of(double mm) {
  ScaleResult scale;
  scale.mm_per_pixel = mm;
  scale.standard_uncertainty = relative_scale * mm;
  return scale;
}

/// A straight canal of 500 px, 15 mm, its apex at the bottom.
CanalMarks straight_marks() {
  CanalMarks marks;
  marks.name = "1";
  marks.path = {{200.0, 100.0}, {200.0, 350.0}, {200.0, 600.0}};
  marks.apex = {200.0, 600.0};
  return marks;
}

/// Filled from 1.2 mm on with a cone of 0.31 mm and 0.06.
CanalResult filled() {
  CanalResult canal;
  Terminus terminus;
  terminus.to_apex_mm = 1.2;
  terminus.parts = {{"outline", 0.012}, {"apex mark", 0.2}, {"scale", 0.006}, {"path", 0.009}};
  terminus.standard_uncertainty_mm = 0.2;
  canal.terminus = terminus;
  for (double at = 2.0; at <= 10.0; at += 0.5) canal.width.push_back({at, 0.31 + 0.06 * (at - 1.2), 0.015});
  canal.voids.emplace();
  canal.coronal_level_mm = Quantity{12.0, 0.01};
  return canal;
}

Void gap(double from_mm, double to_mm, double score, bool at_backfill) {
  Void found;
  found.from_mm = from_mm;
  found.to_mm = to_mm;
  found.score = score;
  found.at_backfill = at_backfill;
  return found;
}

HeldAgainstPlan held(const CanalMarks& marks, const CanalResult& canal) {
  return against_plan(marks, canal, scale_of(0.03), relative_scale);
}

/// The reason of the one thing that can't be told.
std::string told_why(const HeldAgainstPlan& against) {
  return against.not_assessable.size() == 1 ? against.not_assessable.front().reason : "";
}

}  // namespace

TEST_CASE("nothing planned: nothing compared") {
  const AgainstPlan plan = held(straight_marks(), filled()).figures;
  CHECK(plan.width.empty());
  CHECK_FALSE(plan.mean_width_difference_mm);
  CHECK_FALSE(plan.fill_length_from_reference_mm);
  CHECK_FALSE(plan.terminus_to_working_length_mm);
  CHECK_FALSE(plan.gap_at_backfill);
}

TEST_CASE("a cone of 0.25 mm and 0.08 has 0.65 mm at 5 mm from its tip") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{0.25, 0.08, std::nullopt, std::nullopt};
  CanalResult canal = filled();
  canal.width = {{6.2, 0.70, 0.015}};
  const AgainstPlan plan = held(marks, canal).figures;
  REQUIRE(plan.width.size() == 1);
  CHECK(plan.width.front().planned_mm == doctest::Approx(0.65));
  CHECK(plan.width.front().difference_mm == doctest::Approx(0.05));
}

TEST_CASE("the mean difference, its uncertainty that of one width: neighbours share their error") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{0.25, 0.06, std::nullopt, std::nullopt};
  const AgainstPlan plan = held(marks, filled()).figures;
  REQUIRE(plan.mean_width_difference_mm.has_value());
  CHECK(plan.mean_width_difference_mm->value == doctest::Approx(0.06));
  CHECK(plan.mean_width_difference_mm->standard_uncertainty == doctest::Approx(0.015));
}

TEST_CASE("the length from the coronal reference doesn't depend on where the apex was marked") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{std::nullopt, std::nullopt, 14.0, std::nullopt};
  CHECK_FALSE(held(marks, filled()).figures.terminus_to_working_length_mm);
  CHECK(told_why(held(marks, filled())) == "no-coronal-reference");
  marks.coronal_reference = Point{180.0, 100.0};
  const AgainstPlan plan = held(marks, filled()).figures;
  REQUIRE(plan.fill_length_from_reference_mm.has_value());
  // 500 px of 0.03 mm to the apex, 1.2 mm short of it.
  CHECK(plan.fill_length_from_reference_mm->value == doctest::Approx(13.8));
  CHECK(plan.terminus_to_working_length_mm->value == doctest::Approx(0.2));
  // Outline, path, half a pixel of the reference's mark, and the scale over the whole length; not the apex.
  const double u =
      std::sqrt(0.012 * 0.012 + 0.009 * 0.009 + 0.015 * 0.015 + std::pow(13.8 * relative_scale, 2));
  CHECK(plan.fill_length_from_reference_mm->standard_uncertainty == doctest::Approx(u));
  CHECK(plan.terminus_to_working_length_mm->standard_uncertainty == doctest::Approx(u));
}

TEST_CASE("a gap where the backfill starts counts from a score of 5, one elsewhere never") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{std::nullopt, std::nullopt, std::nullopt, 5.0};
  CanalResult canal = filled();
  const auto told = [&] {
    return *held(marks, canal).figures.gap_at_backfill;
  };
  CHECK_FALSE(told());
  canal.voids->push_back(gap(7.0, 7.5, 30.0, false));
  CHECK_FALSE(told());
  canal.voids->push_back(gap(4.9, 5.3, 4.9, true));
  CHECK_FALSE(told());
  canal.voids->back().score = 5.1;
  CHECK(told());
  canal.voids.reset();
  CHECK_FALSE(held(marks, canal).figures.gap_at_backfill.has_value());
}

TEST_CASE("no gap is said to be missing where voids can't be told, or where there is no fill") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{std::nullopt, std::nullopt, std::nullopt, 5.0};
  CanalResult canal = filled();
  canal.not_assessable.push_back({"voids", 5.4, 7.0, "overlap", "Another fill lies there."});
  CHECK_FALSE(held(marks, canal).figures.gap_at_backfill.has_value());
  CHECK(told_why(held(marks, canal)) == "voids-unseen");
  canal.voids->push_back(gap(4.6, 5.0, 9.0, true));
  CHECK(*held(marks, canal).figures.gap_at_backfill);
  canal.voids->clear();
  canal.not_assessable.front().from_mm = 5.6;
  CHECK_FALSE(*held(marks, canal).figures.gap_at_backfill);
  for (const double outside : {0.9, 12.3, 50.0}) {
    marks.planned->backfill_from_mm = outside;
    CHECK_FALSE(held(marks, canal).figures.gap_at_backfill.has_value());
    CHECK(told_why(held(marks, canal)) == "outside-fill");
  }
}

TEST_CASE("a figure against the plan is missing for the reason of the figure that it needs") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{0.25, 0.06, 14.0, 5.0};
  marks.coronal_reference = Point{180.0, 100.0};
  CanalResult canal = filled();
  canal.terminus.reset();
  canal.voids.reset();
  canal.not_assessable.push_back({"terminus", 0.0, 1.0, "overlap", "Another fill lies there."});
  canal.not_assessable.push_back({"voids", {}, {}, "clipped", "The grey is clipped."});
  const HeldAgainstPlan told = held(marks, canal);
  REQUIRE(told.not_assessable.size() == 3);
  const char* figures[] = {"against_plan.width", "against_plan.terminus_to_working_length_mm",
                           "against_plan.gap_at_backfill"};
  const char* reasons[] = {"overlap", "overlap", "clipped"};
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(told.not_assessable[i].figure == figures[i]);
    CHECK(told.not_assessable[i].reason == reasons[i]);
  }
  marks.planned = Planned{};
  CHECK(held(marks, canal).not_assessable.empty());
}

TEST_CASE("half a plan of the width and a reference below the fill's end say why nothing is compared") {
  CanalMarks marks = straight_marks();
  marks.planned = Planned{0.25, std::nullopt, std::nullopt, std::nullopt};
  CHECK(told_why(held(marks, filled())) == "plan-incomplete");
  marks.planned = Planned{std::nullopt, std::nullopt, 14.0, std::nullopt};
  marks.coronal_reference = Point{210.0, 620.0};
  CHECK(told_why(held(marks, filled())) == "reference-apical");
  CHECK_FALSE(held(marks, filled()).figures.fill_length_from_reference_mm);
}
