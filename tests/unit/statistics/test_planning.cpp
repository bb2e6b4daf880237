#include <algorithm>
#include <map>
#include <set>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

using namespace canalrule::statistics;

namespace {

double half_width(double share, double size) {
  const Interval interval = *wilson_of_share(share, size).interval;
  return (interval.high - interval.low) / 2.0;
}

}  // namespace

TEST_CASE("the least number for Wilson's interval suffices, and one less doesn't") {
  for (const double share : {0.0, 0.1, 0.5, 0.85, 1.0})
    for (const double wanted : {0.02, 0.05, 0.1, 0.2}) {
      const SampleSize found = sample_size_wilson({.expected_share = share, .half_width = wanted});
      CHECK(half_width(share, static_cast<double>(found.size)) <= wanted + 1e-9);
      CHECK(half_width(share, static_cast<double>(found.size) - 1.0) > wanted);
      CHECK(half_width(share, found.unlimited) == doctest::Approx(wanted).epsilon(1e-9));
    }
}

TEST_CASE("Wilson asks for about z squared fewer than the normal approximation where the share is a half") {
  const double normal = sample_size_normal({}).unlimited, wilson = sample_size_wilson({}).unlimited;
  CHECK(normal - wilson == doctest::Approx(1.959964 * 1.959964).epsilon(0.01));
}

TEST_CASE("clustering multiplies, a small population saves, and never is more asked for than there is") {
  const ProportionPlan plain{.expected_share = 0.7, .half_width = 0.05};
  ProportionPlan clustered = plain;
  clustered.design_effect = design_effect_of(3.0, 0.4);
  CHECK(clustered.design_effect == doctest::Approx(1.8));
  CHECK(sample_size_wilson(clustered).size >=
        static_cast<std::size_t>(1.8 * sample_size_wilson(plain).unlimited));
  std::size_t before = 0;
  for (const std::size_t population : {1U, 10U, 100U, 1000U, 10000U, 1000000U}) {
    ProportionPlan finite = clustered;
    finite.population = population;
    const std::size_t size = sample_size_wilson(finite).size;
    CHECK(size <= population);
    CHECK(size > 0);
    CHECK(size >= before);
    CHECK(size <= sample_size_wilson(clustered).size);
    before = size;
  }
}

TEST_CASE("the normal approximation has nothing to say about shares of 0 and 1") {
  CHECK(sample_size_normal({.expected_share = 0.0}).size == 0);
  CHECK(sample_size_normal({.expected_share = 1.0}).size == 0);
}

TEST_CASE("a draw holds different numbers, each of the population, and the same for the same seed") {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const std::vector<std::size_t> drawn = draw_without_replacement(50, 20, seed);
    CHECK(drawn.size() == 20);
    CHECK(std::set<std::size_t>(drawn.begin(), drawn.end()).size() == 20);
    CHECK(*std::max_element(drawn.begin(), drawn.end()) < 50);
    CHECK(draw_without_replacement(50, 20, seed) == drawn);
    CHECK(draw_without_replacement(50, 20, seed + 1) != drawn);
    const std::vector<std::size_t> longer = draw_without_replacement(50, 35, seed);
    CHECK(std::vector<std::size_t>(longer.begin(), longer.begin() + 20) == drawn);
  }
  CHECK(draw_without_replacement(5, 0, 1).empty());
  std::vector<std::size_t> everything = draw_without_replacement(30, 30, 7);
  std::sort(everything.begin(), everything.end());
  for (std::size_t i = 0; i < 30; ++i) CHECK(everything[i] == i);
}

TEST_CASE("a draw of all is a fair order") {
  // Of 6 orders of 3 each comes as often as any other: chi-square of 6000 draws, 5 degrees of freedom, below
  // its 99.9 % quantile 20.5.
  std::map<std::vector<std::size_t>, int> seen;
  for (std::uint64_t seed = 0; seed < 6000; ++seed) ++seen[draw_without_replacement(3, 3, seed)];
  CHECK(seen.size() == 6);
  double chi = 0.0;
  for (const auto& [order, times] : seen) chi += (times - 1000.0) * (times - 1000.0) / 1000.0;
  CHECK(chi < 20.5);
}

TEST_CASE("this seed gives this draw on every machine") {
  // Worked out by tests/reference/test_statistics.py from the published algorithms.
  CHECK(draw_without_replacement(100, 5, 2026) == std::vector<std::size_t>{9, 89, 46, 14, 2});
}

TEST_CASE("everyone has the same chance to be drawn") {
  std::vector<int> times(12, 0);
  constexpr int draws = 6000;
  for (std::uint64_t seed = 0; seed < draws; ++seed)
    for (const std::size_t one : draw_without_replacement(12, 4, seed)) ++times[one];
  // Each is expected 2000 times with a standard deviation of 36.5; chi-squared with 11 degrees stays
  // below 31.3 but for one in a thousand, times (1 - 4/12) 12 / 11 as draws are without replacement.
  double chi_squared = 0.0;
  for (const int count : times) chi_squared += (count - 2000.0) * (count - 2000.0) / 2000.0;
  CHECK(chi_squared < 31.3 * 8.0 / 11.0);
}

TEST_CASE("bounded numbers stay below their bound and reach it") {
  SeededWords words(3);
  std::set<std::uint64_t> seen;
  for (int i = 0; i < 200; ++i) seen.insert(words.below(7));
  CHECK(seen == std::set<std::uint64_t>{0, 1, 2, 3, 4, 5, 6});
  for (int i = 0; i < 10; ++i) CHECK(words.below(1) == 0);
}
