#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/grade/class_summary.hpp>
#include <canalrule/grade/grade.hpp>

#include "samples.hpp"

using namespace canalrule_test;

namespace {

MarkedReading reading_of(const CanalResult& canal, const Rubric& rubric) {
  Result result = result_of(canal);
  Mark mark = grade(result, rubric, {});
  return {std::move(result), std::move(mark)};
}

ClassCase case_of(const std::string& student, const std::string& name, double to_apex_mm,
                  const Rubric& rubric, const std::string& date = "") {
  ClassCase one;
  one.student = student;
  one.name = name;
  one.date = date;
  one.teacher = reading_of(canal_ending(to_apex_mm, 0.05), rubric);
  one.advice = advise(one.teacher->result, one.teacher->mark, rubric, shipped_feedback(), Technique::any);
  return one;
}

}  // namespace

TEST_CASE("a class is counted, its failures among it") {
  const Rubric rubric = length_rubric();
  std::vector<ClassCase> cases{case_of("S2", "a", 1.0, rubric), case_of("S1", "b", 2.5, rubric),
                               case_of("S1", "c", 5.0, rubric)};
  ClassCase failed;
  failed.student = "S1";
  failed.name = "d";
  failed.problem = "film.png: does not exist; check the name";
  cases.push_back(failed);
  const ClassSummary summary = summarise(cases, rubric);
  CHECK(summary.cases == 4);
  CHECK(summary.measured == 3);
  CHECK(summary.marked == 3);
  CHECK(summary.passed == 2);
  CHECK(summary.percents == std::vector<double>{100.0, 50.0, 0.0});
  CHECK(summary.marks.median == 50.0);
  REQUIRE(summary.students.size() == 2);
  CHECK(summary.students[0].student == "S1");
  CHECK(summary.students[0].cases == 3);
  CHECK(summary.students[0].marked == 2);
  CHECK(summary.students[0].mean_percent == 25.0);
  CHECK(summary.criteria[0].per_band == std::vector<std::size_t>{0, 1, 1, 1});
  CHECK(summary.figures[0].values == std::vector<double>{1.0, 2.5, 5.0});
  REQUIRE(summary.faults.size() == 1);
  CHECK(summary.faults[0].fault == Fault::ends_short);
  CHECK(summary.faults[0].canals == 2);
  CHECK(summary.faults[0].students == 1);
}

TEST_CASE("progress is told session by session") {
  const Rubric rubric = length_rubric();
  const std::vector<ClassCase> cases{
      case_of("S1", "a", 1.0, rubric, "2026-03-16"), case_of("S1", "b", 5.0, rubric, "2026-03-02"),
      case_of("S2", "c", 2.5, rubric, "2026-03-02"), case_of("S2", "d", 1.0, rubric)};
  const ClassSummary summary = summarise(cases, rubric);
  REQUIRE(summary.sessions.size() == 2);
  CHECK(summary.sessions[0].date == "2026-03-02");
  CHECK(summary.sessions[0].spread.mean.value == 25.0);
  CHECK(summary.sessions[1].percents == std::vector<double>{100.0});
  REQUIRE(summary.students[0].progress.size() == 2);
  CHECK(summary.students[0].progress[0].percent == 0.0);
  CHECK(summary.students[1].progress.size() == 1);
}

TEST_CASE("the own readings show who rates higher, beyond what the uncertainty grants") {
  const Rubric rubric = length_rubric();
  std::vector<ClassCase> cases{case_of("S1", "a", 5.0, rubric), case_of("S1", "b", 2.1, rubric),
                               case_of("S2", "c", 1.0, rubric), case_of("S3", "d", 1.0, rubric),
                               case_of("S1", "e", 1.0, rubric)};
  cases[0].student_own = reading_of(canal_ending(1.0, 0.05), rubric);
  cases[1].student_own = reading_of(canal_ending(1.9, 0.1), rubric);
  cases[2].student_own = reading_of(canal_ending(5.0, 0.05), rubric);
  cases[4].student_own = reading_of(canal_ending(1.0, 0.05), rubric);
  cases[1].teacher = reading_of(canal_ending(2.1, 0.1), rubric);  // too close to call: no sure difference
  const ClassSummary summary = summarise(cases, rubric);
  CHECK(summary.students[0].own_readings == 3);
  CHECK(summary.students[0].own_higher == 1);
  CHECK(summary.students[0].own_lower == 0);
  CHECK(summary.students[0].view == SelfView::over_rates);
  CHECK(summary.students[1].own_lower == 1);
  CHECK_FALSE(summary.students[1].view.has_value());  // of one film
  CHECK_FALSE(summary.students[2].view.has_value());
  REQUIRE(summary.self.figures.size() == 4);
  CHECK(summary.self.cases == 4);
  const ReadingsAgreement& terminus = summary.self.figures[1];
  CHECK(terminus.pairs.size() == 4);
  // Differences own less teacher's: -4, -0.2, 4, 0: mean -0.05.
  CHECK(*terminus.differences.bias.value == doctest::Approx(-0.2 / 4.0));
  CHECK(summary.self.criteria[0].levels == std::vector<double>{0.0, 1.0, 2.0});
  CHECK(summary.self.criteria[0].kappa.pairs == 4);
}

TEST_CASE("figures of a canal that may not be judged are no reader's") {
  const Rubric rubric = length_rubric();
  ClassCase one = case_of("S1", "a", 1.0, rubric);
  CanalResult reversed = canal_ending(9.0, 0.05);
  reversed.warnings.push_back({"path-reversed", "The path runs from the apex to the crown."});
  one.second = reading_of(reversed, rubric);
  CHECK(summarise({one}, rubric).moderation.figures[1].pairs.empty());
}

TEST_CASE("canals are paired by their names, the others counted") {
  const Rubric rubric = length_rubric();
  ClassCase one = case_of("S1", "a", 1.0, rubric);
  one.second = reading_of(canal_ending(1.0, 0.05, "other"), rubric);
  const ClassSummary summary = summarise({one}, rubric);
  CHECK(summary.moderation.canals == 0);
  CHECK(summary.moderation.canals_unmatched == 2);
  CHECK(summary.moderation.figures[1].pairs.empty());
}

TEST_CASE("moderation names the marks that would change, and by which criterion") {
  const Rubric rubric = length_rubric();
  std::vector<ClassCase> cases{case_of("S1", "a", 2.5, rubric), case_of("S2", "b", 1.0, rubric)};
  cases[0].second = reading_of(canal_ending(3.5, 0.05), rubric);
  cases[1].second = reading_of(canal_ending(1.2, 0.05), rubric);
  const ClassSummary summary = summarise(cases, rubric);
  CHECK(summary.moderation.cases == 2);
  REQUIRE(summary.moderation.moved.size() == 1);
  CHECK(summary.moderation.moved[0].name == "a");
  CHECK(summary.moderation.moved[0].before == 50.0);
  CHECK(summary.moderation.moved[0].after == 0.0);
  CHECK(summary.moderation.moved[0].standing_after == Standing::failed);
  CHECK(summary.moderation.moved[0].criteria == std::vector<std::string>{"length"});
}

TEST_CASE("a regrade says what moved") {
  const Rubric rubric = length_rubric();
  Rubric milder = rubric;
  milder.pass_mark_percent = 0.0;
  milder.criteria[0].bands[3].points = 1.0;
  std::vector<ClassCase> cases{case_of("S1", "a", 5.0, rubric), case_of("S2", "b", 1.0, rubric)};
  for (ClassCase& one : cases) one.earlier = grade(one.teacher->result, milder, {});
  const ClassSummary summary = summarise(cases, rubric);
  REQUIRE(summary.regrade.has_value());
  CHECK(summary.regrade->unmoved == 1);
  CHECK(summary.regrade->passed_before == 2);
  CHECK(summary.regrade->passed_after == 1);
  REQUIRE(summary.regrade->moved.size() == 1);
  CHECK(summary.regrade->moved[0].before == 50.0);
  CHECK(summary.regrade->moved[0].after == 0.0);
}

TEST_CASE("a second look is asked for where a mark hangs on little, and nowhere else") {
  Rubric rubric = length_rubric();
  rubric.pass_mark_percent = 60.0;
  CHECK(second_look(case_of("S1", "a", 1.0, rubric), rubric).empty());
  ClassCase close = case_of("S1", "a", 1.0, rubric);
  close.teacher = reading_of(canal_ending(2.05, 0.1), rubric);
  REQUIRE(second_look(close, rubric).size() == 1);
  CHECK(second_look(close, rubric)[0].find("leaves open whether this is a pass") != std::string::npos);

  ClassCase weak = case_of("S1", "a", 1.0, rubric);
  weak.teacher->result.canals[0].film.contrast_to_texture = 2.4;
  CHECK(second_look(weak, rubric).at(0).find("Weak contrast") != std::string::npos);

  ClassCase unseen = case_of("S1", "a", 1.0, rubric);
  CanalResult without_end = canal_ending(1.0, 0.05);
  without_end.terminus.reset();
  unseen.teacher = reading_of(without_end, rubric);
  CHECK(second_look(unseen, rubric).at(0).find("Not marked") != std::string::npos);

  ClassCase disputed = case_of("S1", "a", 1.0, rubric);
  disputed.second = reading_of(canal_ending(1.45, 0.05), rubric);
  CHECK(second_look(disputed, rubric).empty());
  disputed.second = reading_of(canal_ending(1.6, 0.05), rubric);
  CHECK(second_look(disputed, rubric).at(0).find("elsewhere, by 0.6 mm") != std::string::npos);
  disputed.second = reading_of(canal_ending(1.6, 0.5), rubric);  // within what the uncertainty grants
  CHECK(second_look(disputed, rubric).empty());
  disputed.second = reading_of(canal_ending(3.5, 0.05), rubric);
  CHECK(second_look(disputed, rubric).at(0) == "The second reading would change pass or fail.");

  ClassCase marked_apart = case_of("S1", "a", 1.0, rubric);
  marked_apart.second = reading_of(canal_ending(1.0, 0.05), rubric);
  marked_apart.second->mark.percent = *marked_apart.teacher->mark.percent - 0.9 * large_disagreement_percent;
  CHECK(second_look(marked_apart, rubric).empty());
  marked_apart.second->mark.percent = *marked_apart.teacher->mark.percent - 1.1 * large_disagreement_percent;
  CHECK(second_look(marked_apart, rubric).at(0).find("The second reading gives 78 % instead of 100 %") !=
        std::string::npos);
}
