#include <doctest/doctest.h>

#include <canalrule/grade/grade.hpp>
#include <canalrule/judge/conformity.hpp>

#include "samples.hpp"

using namespace canalrule_test;

namespace {

Mark mark_of(const CanalResult& canal, const Rubric& rubric, const Observations& seen = {}) {
  return grade(result_of(canal), rubric, seen);
}

const Award& award_of(const Mark& mark, std::size_t criterion = 0, std::size_t canal = 0) {
  return mark.criteria.at(criterion).awards.at(canal);
}

RubricCondition overfill_below(double limit, double points = 0.0) {
  return {"overfill", "Overfill",
          MeasuredCondition{{CriterionFigure::terminus_to_apex_mm, {}}, {}, Limit{limit, false}}, points};
}

}  // namespace

TEST_CASE("each point leads back to the figure, its uncertainty and the bands") {
  const Mark mark = mark_of(canal_ending(2.1, 0.1), length_rubric());
  const Award& award = award_of(mark);
  CHECK(award.figure == Quantity{2.1, 0.1});
  CHECK(award.band == 2u);
  REQUIRE(award.chance.size() == 4);
  // Phi((2 - 2.1) / 0.1) = Phi(-1) = 0.158655 (standard normal table).
  CHECK(award.chance[1] == doctest::Approx(0.158655).epsilon(1e-4));
  CHECK(award.chance[2] == doctest::Approx(0.841345).epsilon(1e-4));
  CHECK(award.chance[0] + award.chance[1] + award.chance[2] + award.chance[3] == doctest::Approx(1.0));
  CHECK(award.sureness == Sureness::too_close_to_call);
  CHECK(award.points == 2.0);
  CHECK(award.least_points == 1.0);
  CHECK(award.most_points == 2.0);
}

TEST_CASE("each rule settles what is too close to call in its way") {
  const CanalResult canal = canal_ending(2.1, 0.1);
  CHECK(award_of(mark_of(canal, length_rubric(CloseCall::benefit_of_the_doubt))).points == 2.0);
  CHECK(award_of(mark_of(canal, length_rubric(CloseCall::nearest_band))).points == 1.0);
  CHECK(award_of(mark_of(canal, length_rubric(CloseCall::no_benefit))).points == 1.0);
  CHECK(*award_of(mark_of(canal, length_rubric(CloseCall::expected_points))).points ==
        doctest::Approx(1.158655).epsilon(1e-4));
}

TEST_CASE("a pass that the uncertainty leaves open is said to be open") {
  Rubric rubric = length_rubric();
  rubric.pass_mark_percent = 60.0;
  const Mark open = mark_of(canal_ending(2.1, 0.1), rubric);
  CHECK(open.standing == Standing::passed);
  CHECK(open.least_percent == 50.0);
  CHECK(open.most_percent == 100.0);
  CHECK(open.standing_is_open);
  const Mark sure = mark_of(canal_ending(1.0, 0.1), rubric);
  CHECK(sure.percent == 100.0);
  CHECK_FALSE(sure.standing_is_open);
}

TEST_CASE("what can't be assessed follows the rubric's rule") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.terminus.reset();
  canal.not_assessable.push_back(
      {"terminus", {}, {}, "overlap", "another canal lies over the end of the fill"});
  Rubric rubric = length_rubric();
  const Mark left_out = mark_of(canal, rubric);
  CHECK_FALSE(left_out.percent.has_value());
  CHECK(left_out.standing == Standing::not_marked);
  CHECK(award_of(left_out).reason == "another canal lies over the end of the fill");
  rubric.criteria[0].not_assessable = Unassessed::full_points;
  CHECK(award_of(mark_of(canal, rubric)).points == 2.0);
  rubric.criteria[0].not_assessable = Unassessed::no_points;
  CHECK(award_of(mark_of(canal, rubric)).points == 0.0);
}

TEST_CASE("what is left out makes the mark one of less") {
  Rubric rubric = length_rubric();
  RubricCriterion width = rubric.criteria[0];
  width.id = "width";
  width.looked.figure = CriterionFigure::width_against_plan_mm;
  rubric.criteria.push_back(width);
  const Mark mark = mark_of(canal_ending(2.5, 0.05), rubric);
  CHECK(mark.out_of == 2.0);
  CHECK(mark.points == 1.0);
  CHECK(mark.percent == 50.0);
  CHECK(mark.assessed_percent == 50.0);
  rubric.least_assessed_percent = 60.0;
  CHECK(mark_of(canal_ending(2.5, 0.05), rubric).standing == Standing::not_marked);
}

TEST_CASE("several canals count by the worst or by their mean") {
  Result result = result_of(canal_ending(1.0, 0.05, "MB"));
  result.canals.push_back(canal_ending(5.0, 0.05, "ML"));
  Rubric rubric = length_rubric();
  rubric.several_canals = SeveralCanals::worst;
  CHECK(grade(result, rubric, {}).criteria[0].points == 0.0);
  rubric.several_canals = SeveralCanals::mean;
  CHECK(grade(result, rubric, {}).criteria[0].points == 1.0);
  result.canals[1].terminus.reset();
  CHECK(grade(result, rubric, {}).criteria[0].points == 2.0);
  CHECK(grade(result, rubric, {}).criteria[0].sureness == Sureness::not_assessable);
}

TEST_CASE("deductions are taken from the worst canal, and never below nothing") {
  Rubric rubric = length_rubric();
  rubric.deductions.push_back(overfill_below(-0.5, 0.5));
  Result result = result_of(canal_ending(1.0, 0.05, "MB"));
  result.canals.push_back(canal_ending(-1.0, 0.05, "ML"));
  rubric.several_canals = SeveralCanals::mean;
  const Mark mark = grade(result, rubric, {});
  CHECK(mark.deductions[0].canal == "ML");
  CHECK(mark.deductions[0].applied);
  CHECK(mark.points == 0.5);
  CHECK(mark_of(canal_ending(-1.0, 0.05), rubric).points == 0.0);
  CHECK_FALSE(mark_of(canal_ending(1.0, 0.05), rubric).deductions[0].applied);
}

TEST_CASE("an automatic fail needs the rubric's confidence and caps the mark") {
  Rubric rubric = length_rubric();
  rubric.criteria[0].bands[0].points = 1.0;
  rubric.automatic_fails.push_back(overfill_below(-2.0));
  CHECK(mark_of(canal_ending(-3.0, 0.1), rubric).standing == Standing::failed_automatically);
  CHECK(mark_of(canal_ending(-3.0, 0.1), rubric).percent == 0.0);
  const Mark close = mark_of(canal_ending(-2.1, 0.1), rubric);
  CHECK(close.standing == Standing::passed);
  CHECK(close.automatic_fails[0].sureness == Sureness::too_close_to_call);
  CHECK(close.standing_is_open);
  rubric.automatic_fail_percent = 30.0;
  CHECK(mark_of(canal_ending(-3.0, 0.1), rubric).percent == 30.0);
}

TEST_CASE("what a teacher saw fails, what nobody wrote down doesn't") {
  Rubric rubric = length_rubric();
  rubric.automatic_fails.push_back({"perforation", "Perforation", ObservedCondition{"perforation"}, 0.0});
  CHECK(mark_of(canal_ending(1.0, 0.05), rubric, {{"perforation", true}}).standing ==
        Standing::failed_automatically);
  CHECK(mark_of(canal_ending(1.0, 0.05), rubric, {{"perforation", false}}).standing == Standing::passed);
  const Mark unsaid = mark_of(canal_ending(1.0, 0.05), rubric);
  CHECK(unsaid.standing == Standing::passed);
  CHECK(unsaid.automatic_fails[0].sureness == Sureness::not_assessable);
}

TEST_CASE("more and longer voids never earn more") {
  const Rubric rubric = shipped_rubric("three-level");
  CanalResult canal = canal_ending(1.0, 0.05);
  double before = *mark_of(canal, rubric).criteria[1].points;
  CHECK(before == 2.0);
  for (const double length : {0.2, 0.4, 0.7, 0.95, 1.1, 1.6}) {
    canal.voids->push_back(void_of(4.0, {length, 0.05}, 12.0));
    const double now = *mark_of(canal, rubric).criteria[1].points;
    CHECK(now <= before);
    before = now;
  }
  CHECK(before == 0.0);
}

TEST_CASE("a stretch that can't be seen takes full points, not a fault that was seen") {
  const Rubric rubric = shipped_rubric("three-level");
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.not_assessable.push_back({"voids", 3.0, 6.0, "overlap", "another canal lies over this stretch"});
  CHECK(award_of(mark_of(canal, rubric), 1).sureness == Sureness::not_assessable);
  canal.voids->push_back(void_of(8.0, {1.6, 0.05}, 12.0));
  CHECK(award_of(mark_of(canal, rubric), 1).points == 0.0);
  CHECK(award_of(mark_of(canal, rubric), 1).sureness == Sureness::sure);
}

TEST_CASE("the film's own figures are marked as they are") {
  const Rubric rubric = shipped_rubric("escribano-2023");
  CanalResult canal = canal_ending(1.0, 0.05);
  CHECK(award_of(mark_of(canal, rubric), 0).points == 0.5);
  canal.film.bone_beyond_apex_mm = 1.5;
  CHECK(award_of(mark_of(canal, rubric), 0).points == 0.25);
  canal.film.contrast_to_texture = 2.0;
  CHECK(award_of(mark_of(canal, rubric), 1).points == 0.0);
}

TEST_CASE("a flawless fill earns full marks by every shipped rubric") {
  for (const char* name : {"three-level", "escribano-2023"}) {
    CanalResult canal = canal_ending(1.0, 0.05);
    canal.taper.largest_reversal = Reversal{{0.0, 0.005}, 3.0, 4.0};
    const Mark mark = mark_of(canal, shipped_rubric(name));
    CAPTURE(name);
    CHECK(mark.percent == 100.0);
    CHECK(mark.standing == Standing::passed);
  }
}
