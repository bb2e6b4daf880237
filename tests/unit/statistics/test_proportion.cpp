#include <algorithm>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

using namespace canalrule::statistics;

namespace {

double width(const Estimate& estimate) { return estimate.interval->high - estimate.interval->low; }

/// Clusters of random size and content, the same for the same seed; `alike` of 100 follow their cluster.
std::vector<Cluster> drawn_clusters(std::size_t count, std::uint64_t alike, std::uint64_t seed) {
  SeededWords words(seed);
  std::vector<Cluster> clusters;
  for (std::size_t i = 0; i < count; ++i) {
    Cluster cluster;
    cluster.all = 1 + static_cast<std::size_t>(words.below(5));
    const bool common = words.below(100) < 60;
    for (std::size_t k = 0; k < cluster.all; ++k) {
      const bool own = words.below(100) < 60;
      cluster.counted += (words.below(100) < alike ? common : own) ? 1 : 0;
    }
    clusters.push_back(cluster);
  }
  return clusters;
}

}  // namespace

TEST_CASE("Wilson's interval holds the share, stays within 0 and 1, and mirrors with it") {
  for (std::size_t all = 1; all <= 60; ++all)
    for (std::size_t counted = 0; counted <= all; ++counted) {
      const Estimate found = wilson(counted, all);
      REQUIRE(found.interval);
      CHECK(found.interval->low <= *found.value);
      CHECK(found.interval->high >= *found.value);
      CHECK((found.interval->low == 0.0) == (counted == 0));
      CHECK((found.interval->high == 1.0) == (counted == all));
      CHECK(found.interval->low >= 0.0);
      CHECK(found.interval->high <= 1.0);
      const Estimate mirrored = wilson(all - counted, all);
      CHECK(mirrored.interval->low == doctest::Approx(1.0 - found.interval->high).epsilon(1e-12));
      CHECK(found.reason.empty());
    }
}

TEST_CASE("Wilson's interval shrinks with the number and grows with the level") {
  for (const std::size_t half : {0U, 1U, 3U, 5U})
    for (std::size_t times = 1; times < 50; ++times) {
      CHECK(width(wilson(half * (times + 1), 10 * (times + 1))) < width(wilson(half * times, 10 * times)));
      CHECK(width(wilson(half * times, 10 * times, 0.99)) > width(wilson(half * times, 10 * times, 0.9)));
    }
}

TEST_CASE("a share of nothing has no value and a reason") {
  for (const Estimate& found :
       {wilson(0, 0), wilson_of_share(0.5, 0.0), clustered_share({}).share,
        difference_of_shares(wilson(0, 0), wilson(1, 2)), difference_of_paired_shares({})}) {
    CHECK_FALSE(found.value);
    CHECK_FALSE(found.interval);
    CHECK_FALSE(found.reason.empty());
  }
  CHECK(design_effect({}).method == DesignEffect::Method::none);
}

TEST_CASE("independent things have a design effect of 1 and the plain interval") {
  const std::vector<Cluster> singles{{1, 1}, {0, 1}, {1, 1}, {0, 0}, {1, 1}};
  const ClusteredShare found = clustered_share(singles);
  CHECK(found.design.method == DesignEffect::Method::independent);
  CHECK(found.design.value == 1.0);
  CHECK(found.design.clusters == 4);
  CHECK(*found.share.interval == *wilson(3, 4).interval);
}

TEST_CASE("clusters of wholly alike things count as one thing each") {
  // 40 clusters of 3, all or none counted: the variance is that of 40, and m / (m - 1) is the estimator's
  // own.
  std::vector<Cluster> clusters;
  for (std::size_t i = 0; i < 40; ++i) clusters.push_back({i % 2 == 0 ? 3U : 0U, 3});
  const ClusteredShare found = clustered_share(clusters);
  CHECK(found.design.value == doctest::Approx(3.0 * 40.0 / 39.0));
  CHECK(found.design.effective_size == doctest::Approx(39.0));
}

TEST_CASE("where the design effect can't be estimated the most cautious one is taken") {
  const std::vector<Cluster> all_counted{{3, 3}, {2, 2}, {1, 1}};
  CHECK(design_effect(all_counted).method == DesignEffect::Method::most_cautious);
  CHECK(design_effect(all_counted).value == doctest::Approx(14.0 / 6.0));
  const std::vector<Cluster> one{{2, 4}};
  CHECK(design_effect(one).method == DesignEffect::Method::most_cautious);
  CHECK(design_effect(one).effective_size == doctest::Approx(1.0));
}

TEST_CASE("a design effect is never below 1") {
  const std::vector<Cluster> evened_out{{1, 2}, {1, 2}, {1, 2}, {1, 2}};
  CHECK(design_effect(evened_out).method == DesignEffect::Method::not_below_one);
  CHECK(design_effect(evened_out).value == 1.0);
}

TEST_CASE("the design effect grows with how much clusters are alike") {
  const auto mean_effect = [](std::uint64_t alike) {
    double sum = 0.0;
    for (std::uint64_t seed = 1; seed <= 20; ++seed)
      sum += design_effect(drawn_clusters(200, alike, seed)).value;
    return sum / 20.0;
  };
  // 1 + (m* - 1) rho with rho the square of the share that follows: sizes 1 to 5 give m* = 11 / 3.
  CHECK(mean_effect(100) == doctest::Approx(11.0 / 3.0).epsilon(0.05));
  CHECK(mean_effect(70) == doctest::Approx(1.0 + 8.0 / 3.0 * 0.49).epsilon(0.05));
  CHECK(mean_effect(0) == doctest::Approx(1.0).epsilon(0.1));
}

TEST_CASE("groups whose shares differ aren't taken for clusters") {
  // In each group every cluster of 2 holds independent halves of the group's own share.
  const std::vector<Cluster> low{{0, 2}, {0, 2}, {0, 2}, {1, 2}, {0, 2}, {1, 2}, {0, 2}, {0, 2}};
  std::vector<Cluster> high = low, together = low;
  for (Cluster& cluster : high) cluster.counted = cluster.all - cluster.counted;
  together.insert(together.end(), high.begin(), high.end());
  const std::vector<std::vector<Cluster>> groups{low, high};
  CHECK(pooled_design_effect(groups).value == doctest::Approx(design_effect(low).value));
  CHECK(pooled_design_effect(groups).effective_size ==
        doctest::Approx(2.0 * design_effect(low).effective_size));
  CHECK(design_effect(together).value > 1.5);
}

TEST_CASE("the interval of clustered shares covers the true share as often as it says") {
  int covered = 0;
  constexpr int draws = 2000;
  for (std::uint64_t seed = 1; seed <= draws; ++seed) {
    const Interval interval = *clustered_share(drawn_clusters(60, 80, seed)).share.interval;
    covered += interval.low <= 0.6 && 0.6 <= interval.high ? 1 : 0;
  }
  // 95 %, less up to 1 % for a variance estimated from 60 clusters, and 3 standard errors of 2000 draws (1.5
  // %).
  CHECK(covered >= draws * 0.925);
  CHECK(covered <= draws * 0.965);
}

TEST_CASE("a difference turns its sign with the order, and holds 0 for equal shares") {
  for (std::size_t first = 0; first <= 12; ++first)
    for (std::size_t second = 0; second <= 9; ++second) {
      const Estimate a = wilson(first, 12), b = wilson(second, 9);
      const Estimate there = difference_of_shares(a, b), back = difference_of_shares(b, a);
      CHECK(*there.value == doctest::Approx(-*back.value));
      CHECK(there.interval->low == doctest::Approx(-back.interval->high));
      CHECK(there.interval->low >= -1.0);
      CHECK(there.interval->high <= 1.0);
      CHECK(there.interval->low <= *there.value);
      CHECK(there.interval->high >= *there.value);
    }
  const Interval same = *difference_of_shares(wilson(4, 8), wilson(5, 10)).interval;
  CHECK(same.low < 0.0);
  CHECK(same.high > 0.0);
}

TEST_CASE("pairing narrows the interval where the pairs go together, and widens it where they don't") {
  const double unpaired = width(difference_of_shares(wilson(30, 60), wilson(30, 60)));
  CHECK(width(difference_of_paired_shares({28, 2, 2, 28})) < 0.5 * unpaired);
  CHECK(width(difference_of_paired_shares({2, 28, 28, 2})) > 1.2 * unpaired);
  CHECK(width(difference_of_paired_shares({15, 15, 15, 15})) == doctest::Approx(unpaired));
  const Estimate there = difference_of_paired_shares({10, 7, 2, 11});
  const Estimate back = difference_of_paired_shares({10, 2, 7, 11});
  CHECK(there.interval->low == doctest::Approx(-back.interval->high));
}

TEST_CASE("funnel limits hold the overall share, narrow with size, and widen with the level") {
  for (const double overall : {0.05, 0.3, 0.62, 0.9})
    for (std::size_t all = 5; all <= 320; all *= 2) {
      const Interval warning = funnel_limits(overall, all, 0.95);
      const Interval action = funnel_limits(overall, all, 0.998);
      CHECK(warning.low < overall);
      CHECK(warning.high > overall);
      CHECK(action.low <= warning.low);
      CHECK(action.high >= warning.high);
      const Interval larger = funnel_limits(overall, 2 * all, 0.95);
      CHECK(larger.high - larger.low < warning.high - warning.low);
      const Interval mirrored = funnel_limits(1.0 - overall, all, 0.95);
      CHECK(mirrored.low >= 0.0);
      CHECK(mirrored.high <= 1.0);
    }
  CHECK(funnel_limits(1.0, 10, 0.95) == Interval{1.0, 1.0});
}
