// Small and degenerate data drawn at random: whatever is given is finite and in order, and whatever is
// missing has its reason.
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/distribution.hpp>
#include <canalrule/statistics/kappa.hpp>
#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

using namespace canalrule::statistics;

namespace {

constexpr std::uint64_t draws = 3000;

void check(const Estimate& estimate) {
  if (estimate.value) CHECK(std::isfinite(*estimate.value));
  if (estimate.interval) {
    REQUIRE(estimate.value);
    CHECK(std::isfinite(estimate.interval->low));
    CHECK(std::isfinite(estimate.interval->high));
    CHECK(estimate.interval->low <= *estimate.value + 1e-12);
    CHECK(estimate.interval->high >= *estimate.value - 1e-12);
  }
  CHECK(estimate.reason.empty() == (estimate.value && estimate.interval));
}

void check(const std::optional<double>& number) {
  if (number) CHECK((std::isfinite(*number) && *number >= 0.0));
}

/// Values that often coincide.
double coarse(SeededWords& words) { return 0.1 * static_cast<double>(words.below(4)); }

std::size_t up_to(SeededWords& words, std::uint64_t most) {
  return static_cast<std::size_t>(words.below(most + 1));
}

}  // namespace

TEST_CASE("limits of agreement and Dahlberg's error of few, coarse pairs") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    std::vector<Pair> pairs(up_to(words, 4));
    for (Pair& pair : pairs) pair = {coarse(words), coarse(words)};
    const BlandAltman found = bland_altman(pairs);
    check(found.bias);
    check(found.lower_limit);
    check(found.upper_limit);
    check(found.standard_deviation);
    check(dahlberg_error(pairs));
  }
}

TEST_CASE("intraclass correlations of few, coarse ratings") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    Ratings ratings(up_to(words, 5), std::vector<double>(1 + up_to(words, 3)));
    for (auto& row : ratings)
      for (double& value : row) value = 20.0 + coarse(words);
    const Icc found = intraclass_correlation(ratings);
    check(found.agreement);
    check(found.consistency);
    for (const Estimate& one : {found.agreement, found.consistency})
      if (one.value) CHECK(*one.value <= 1.0 + 1e-12);
  }
}

TEST_CASE("kappa of small tables") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    const std::size_t categories = 2 + up_to(words, 2);
    CategoryTable table(categories, std::vector<std::size_t>(categories));
    for (auto& row : table)
      for (std::size_t& cell : row) cell = words.below(3) == 0 ? up_to(words, 2) : 0;
    for (const KappaWeights weights : {KappaWeights::none, KappaWeights::linear, KappaWeights::quadratic}) {
      const Kappa found = cohen_kappa(table, weights);
      check(found.kappa);
      check(found.standard_error);
      check(found.observed_agreement);
      check(found.chance_agreement);
    }
  }
}

TEST_CASE("the split of few, coarse measurements") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    std::vector<Observation> seen(up_to(words, 8));
    for (Observation& one : seen) one = {up_to(words, 2), up_to(words, 2), coarse(words), 0.1};
    const VarianceSplit found = variance_split(seen);
    check(found.between_subjects);
    check(found.between_raters);
    check(found.within_rater);
    check(found.stated);
    check(found.beyond_stated);
    if (!found.between_subjects || !found.between_raters || !found.within_rater)
      CHECK_FALSE(found.reason.empty());
  }
}

TEST_CASE("shares of few, small clusters") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    std::vector<Cluster> clusters(up_to(words, 4));
    for (Cluster& cluster : clusters) {
      cluster.all = up_to(words, 3);
      cluster.counted = up_to(words, cluster.all);
    }
    const ClusteredShare found = clustered_share(clusters);
    check(found.share);
    CHECK(found.design.value >= 1.0);
    CHECK(found.design.effective_size <= static_cast<double>(found.all));
    check(difference_of_shares(found.share, wilson(1, 3)));
    check(difference_of_paired_shares({up_to(words, 2), up_to(words, 2), up_to(words, 2), up_to(words, 2)}));
  }
}

TEST_CASE("distributions of few, coarse values") {
  for (std::uint64_t seed = 0; seed < draws; ++seed) {
    SeededWords words(seed);
    std::vector<double> values(up_to(words, 4));
    for (double& value : values) value = coarse(words);
    const Distribution found = distribution_of(values);
    check(found.mean);
    check(found.standard_deviation);
    if (!values.empty()) CHECK((*found.least <= *found.median && *found.median <= *found.most));
  }
}
