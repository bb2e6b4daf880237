// Teeth and the names of their canals.
#include <canalrule/desk/teeth.hpp>

#include <algorithm>
#include <canalrule/record/tooth.hpp>
#include <set>

#include <doctest/doctest.h>

using namespace canalrule::desk;

TEST_CASE("the chart shows each of the 52 teeth of ISO 3950 once, right of the patient first") {
  const auto chart = tooth_chart();
  REQUIRE(chart.size() == 4);
  CHECK(chart[0].front() == "18");
  CHECK(chart[0][8] == "21");
  CHECK(chart[1].front() == "48");
  CHECK(chart[1].back() == "38");
  CHECK(chart[2].front() == "55");
  CHECK(chart[3].back() == "75");
  std::set<std::string> teeth;
  for (const auto& row : chart) teeth.insert(row.begin(), row.end());
  CHECK(teeth.size() == 52);
  for (const std::string& tooth : teeth) CHECK(canalrule::is_tooth(tooth));
  for (const char* none : {"", "1", "19", "10", "56", "90", "111", "ab"}) CHECK_FALSE(canalrule::is_tooth(none));
}

TEST_CASE("every tooth offers names, no name twice, and each abbreviation is explained") {
  for (const auto& row : tooth_chart())
    for (const std::string& tooth : row) {
      CAPTURE(tooth);
      const auto names = canal_names(tooth);
      CHECK_FALSE(names.empty());
      CHECK(std::set<std::string>(names.begin(), names.end()).size() == names.size());
      for (const std::string& name : names) {
        const bool number = name.find_first_not_of("0123456789") == std::string::npos;
        CHECK(meaning_of(name).empty() == number);
      }
    }
  const auto upper = canal_names("16"), lower = canal_names("46");
  CHECK(std::find(upper.begin(), upper.end(), "P") != upper.end());
  CHECK(std::find(lower.begin(), lower.end(), "P") == lower.end());
  CHECK(std::find(lower.begin(), lower.end(), "ML") != lower.end());
  CHECK(canal_names("").front() == "1");
}

TEST_CASE("a new canal gets the first name that is free") {
  CHECK(free_canal_name("46", {}) == "MB");
  CHECK(free_canal_name("46", {"MB"}) == "ML");
  CHECK(free_canal_name("11", {"1"}) == "2");
  CHECK(free_canal_name("51", {"1"}) == "2");
  CHECK(free_canal_name("", {"1", "2", "3", "4"}) == "5");
}
