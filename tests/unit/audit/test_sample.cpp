#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include <canalrule/audit/sample.hpp>
#include <canalrule/base/refusal.hpp>

using namespace canalrule;

namespace {

CaseList list_of(int cases) {
  std::string csv = "case,reading,clinic\r\n";
  for (int i = 0; i < cases; ++i)
    csv +=
        "C" + std::to_string(i) + ",films/" + std::to_string(i) + ".reading.json,\"north, by the sea\"\r\n";
  return parse_case_list(csv, "year.csv", "lists");
}

}  // namespace

TEST_CASE("cases hold several canals, and canals of a patient aren't independent") {
  SampleWish wish;
  const SampleNeeded single = sample_needed(wish);
  CHECK(single.cases == 381);
  CHECK(single.cases_by_normal_approximation == 385);
  wish.canals_per_case = wish.canals_per_patient = 2.0;
  CHECK(sample_needed(wish).cases == 381);  // wholly alike: two canals tell as much as one
  CHECK(sample_needed(wish).design_effect == doctest::Approx(2.0));
  wish.correlation = 0.0;
  CHECK(sample_needed(wish).cases == 191);
  wish.design_effect = 1.5;
  CHECK(sample_needed(wish).cases == 286);
}

TEST_CASE("the needed cases give the wanted interval, from any population") {
  for (const double share : {0.05, 0.5, 0.8, 1.0})
    for (const std::size_t population : {50U, 400U, 100000U}) {
      SampleWish wish;
      wish.expected_share = share;
      wish.canals_per_case = 1.5;
      wish.canals_per_patient = 3.0;
      wish.correlation = 0.4;
      wish.cases = population;
      const std::size_t cases = sample_needed(wish).cases;
      REQUIRE(cases <= population);
      const auto interval = expected_interval(wish, cases);
      if (!interval) continue;
      CHECK(interval->high - interval->low <= 2.0 * wish.half_width + 1e-9);
      // Rounding up to whole canals and whole cases adds less than two cases.
      const auto fewer = expected_interval(wish, cases - 2);
      CHECK(fewer->high - fewer->low > 2.0 * wish.half_width);
    }
  SampleWish all;
  all.cases = 30;
  CHECK_FALSE(expected_interval(all, 30));
}

TEST_CASE("drawn rows stand in the list's order, and a larger sample holds the smaller one") {
  const CaseList list = list_of(200);
  const std::vector<std::size_t> few = drawn_rows(list, 20, 7), many = drawn_rows(list, 60, 7);
  CHECK(few.size() == 20);
  CHECK(std::is_sorted(few.begin(), few.end()));
  CHECK(std::includes(many.begin(), many.end(), few.begin(), few.end()));
  CHECK(drawn_rows(list, 20, 8) != few);
}

TEST_CASE("the drawn list leads to the same readings from where it lies") {
  const CaseList list = list_of(3);
  CHECK(list_of_rows(list, {0, 2}, "lists") ==
        "case,reading,clinic\r\nC0,films/0.reading.json,\"north, by the sea\"\r\n"
        "C2,films/2.reading.json,\"north, by the sea\"\r\n");
  CHECK(list_of_rows(list, {1}, "elsewhere/deep") ==
        "case,reading,clinic\r\nC1,../../lists/films/1.reading.json,\"north, by the sea\"\r\n");
  CHECK(list_of_rows(list, {1}, "") ==
        "case,reading,clinic\r\nC1,lists/films/1.reading.json,\"north, by the sea\"\r\n");
}

TEST_CASE("a list with a fault is no frame to draw from") {
  const CaseList list = parse_case_list("case,reading\nA,a.reading.json\nA,b.reading.json\n", "year.csv", "");
  CHECK_THROWS_AS(drawn_rows(list, 1, 1), Refusal);
}

TEST_CASE("a list that cases are only drawn from needs no readings") {
  const CaseListNeeds needs{.further_columns = {}, .readings = CaseListNeeds::Readings::may_be_missing};
  CHECK(parse_case_list("case\nA\nB\n", "year.csv", "", needs).rows.size() == 2);
  CHECK(parse_case_list("case,reading\nA,\n", "year.csv", "", needs).rows[0].problem.empty());
  CHECK_THROWS_AS(parse_case_list("case\nA\n", "year.csv", ""), Refusal);
}
