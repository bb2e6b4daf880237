#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/grade/grade.hpp>

#include "samples.hpp"

using namespace canalrule_test;

namespace {

std::vector<Advice> advice_on(const CanalResult& canal, const std::string& rubric_name,
                              Technique technique = Technique::any) {
  const Rubric rubric = shipped_rubric(rubric_name);
  const Result result = result_of(canal);
  return advise(result, grade(result, rubric, {}), rubric, shipped_feedback(), technique);
}

std::vector<Fault> faults_of(const std::vector<Advice>& advice) {
  std::vector<Fault> faults;
  for (const Advice& one : advice) faults.push_back(one.fault);
  return faults;
}

}  // namespace

TEST_CASE("a fill within the best bands gives nothing to talk over") {
  CHECK(advice_on(canal_ending(1.0, 0.05), "three-level").empty());
}

TEST_CASE("a short fill is asked about, with its figure and its place") {
  const std::vector<Advice> advice = advice_on(canal_ending(3.21, 0.055), "three-level");
  REQUIRE(advice.size() == 1);
  CHECK(advice[0].fault == Fault::ends_short);
  CHECK(advice[0].criterion == "length");
  CHECK(advice[0].where.find("3.21 ± 0.11 mm") != std::string::npos);
  CHECK(advice[0].where.find("Canal 1") != std::string::npos);
  CHECK(advice[0].where.find('{') == std::string::npos);
}

TEST_CASE("canal seen empty beyond a short fill is said beside it") {
  CanalResult canal = canal_ending(3.0, 0.05);
  canal.empty_canal = EmptyCanal{true, 0.2, 2.9, 6.0};
  CHECK(faults_of(advice_on(canal, "three-level")) ==
        std::vector{Fault::ends_short, Fault::canal_seen_empty});
}

TEST_CASE("the two ways to end too near the apex are told apart") {
  CHECK(faults_of(advice_on(canal_ending(0.3, 0.01), "three-level")) ==
        std::vector{Fault::ends_close_to_apex});
  CHECK(faults_of(advice_on(canal_ending(-0.9, 0.05), "three-level")) ==
        std::vector{Fault::fill_beyond_apex});
}

TEST_CASE("where nothing may be judged nothing is asked about") {
  CanalResult canal = canal_ending(-3.45, 0.05);
  canal.warnings.push_back({"apex-aside", "The apex mark lies 2.0 mm beside the drawn path."});
  CHECK(advice_on(canal, "three-level").empty());
}

TEST_CASE("voids are told apart by kind and place") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.voids = {void_of(2.0, {0.5, 0.05}, 9.0, VoidKind::along_wall, Third::apical),
                 void_of(5.0, {0.5, 0.05}, 9.0, VoidKind::across), void_of(6.0, {0.6, 0.05}, 9.0),
                 void_of(9.0, {0.5, 0.05}, 9.0, VoidKind::across, Third::coronal),
                 void_of(10.0, {0.5, 0.05}, 1.0, VoidKind::inside, Third::coronal)};
  canal.voids->at(1).at_backfill = true;
  const std::vector<Advice> advice = advice_on(canal, "three-level");
  CHECK(faults_of(advice) ==
        std::vector{Fault::gap_along_wall, Fault::gap_at_backfill, Fault::bubble_inside, Fault::gap_across});
  CHECK(advice[0].third == Third::apical);
  CHECK(advice[3].third == Third::coronal);
}

TEST_CASE("a fault that several criteria see is said once") {
  CanalResult canal = canal_ending(1.0, 0.05);
  for (const double from : {4.5, 5.5, 6.5}) canal.voids->push_back(void_of(from, {0.6, 0.02}, 12.0));
  const std::vector<Advice> advice = advice_on(canal, "escribano-2023");
  CHECK(advice.size() == 3);  // three voids: for the middle third, and for the deduction that counts them
}

TEST_CASE("only the questions of the technique that was used are asked") {
  const std::vector<Advice> lateral = advice_on(canal_ending(4.0, 0.05), "three-level", Technique::lateral);
  REQUIRE(lateral.size() == 1);
  CHECK(std::ranges::any_of(lateral[0].questions,
                            [](const Question& q) { return q.technique == Technique::lateral; }));
  for (const Question& question : lateral[0].questions)
    CHECK((question.technique == Technique::lateral || question.technique == Technique::any));
  const std::vector<Advice> any = advice_on(canal_ending(4.0, 0.05), "three-level");
  CHECK(any[0].questions.size() > lateral[0].questions.size());
}

TEST_CASE("the benefit of the doubt gives the points and still asks") {
  const Rubric rubric = length_rubric();
  const Result result = result_of(canal_ending(2.1, 0.1));
  const Mark mark = grade(result, rubric, {});
  CHECK(mark.percent == 100.0);
  CHECK(faults_of(advise(result, mark, rubric, shipped_feedback(), Technique::any)) ==
        std::vector{Fault::ends_short});
}

TEST_CASE("a figure is shown with k = 2, in its unit") {
  CHECK(figure_words(Quantity{1.234, 0.05}, CriterionFigure::terminus_to_apex_mm) == "1.23 ± 0.10 mm");
  CHECK(figure_words(Quantity{0.0591, 0.0012}, CriterionFigure::taper_overall) == "0.059 ± 0.002 mm per mm");
  CHECK(figure_words(Quantity{3.0, 0.0}, CriterionFigure::void_count) == "3");
  CHECK(figure_words(Quantity{5.84, 0.0}, FilmFigure::contrast_to_texture) == "5.8 standard deviations");
  CHECK(figure_words(std::nullopt, CriterionFigure::void_count).empty());
}
