#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/planning.hpp>

using namespace canalrule::statistics;

namespace {

/// Normal numbers, the same for the same seed (sum of twelve uniform ones less 6).
class Drawn {
 public:
  explicit Drawn(std::uint64_t seed) : words_(seed) {}
  double normal() {
    double sum = -6.0;
    for (int i = 0; i < 12; ++i) sum += static_cast<double>(words_.next() >> 11) * 0x1.0p-53;
    return sum;
  }

 private:
  SeededWords words_;
};

struct Spread {
  double subjects, raters, residual;  ///< standard deviations
};

Ratings drawn_ratings(std::size_t subjects, std::size_t raters, const Spread& spread, std::uint64_t seed) {
  Drawn drawn(seed);
  std::vector<double> of_rater;
  for (std::size_t j = 0; j < raters; ++j) of_rater.push_back(spread.raters * drawn.normal());
  Ratings ratings;
  for (std::size_t i = 0; i < subjects; ++i) {
    const double subject = spread.subjects * drawn.normal();
    ratings.emplace_back();
    for (std::size_t j = 0; j < raters; ++j)
      ratings.back().push_back(subject + of_rater[j] + spread.residual * drawn.normal());
  }
  return ratings;
}

std::vector<Pair> scaled(const std::vector<Pair>& pairs, double factor, double shift) {
  std::vector<Pair> result;
  for (const Pair& pair : pairs)
    result.push_back({factor * pair.first + shift, factor * pair.second + shift});
  return result;
}

}  // namespace

TEST_CASE("differences by hand: 1, 2, 3") {
  const std::vector<Pair> pairs{{3, 2}, {5, 3}, {4, 1}};
  const BlandAltman found = bland_altman(pairs);
  CHECK(*found.bias.value == doctest::Approx(2.0));
  CHECK(*found.standard_deviation == doctest::Approx(1.0));
  CHECK(*found.lower_limit.value == doctest::Approx(2.0 - 1.959964));
  CHECK(*found.upper_limit.value == doctest::Approx(2.0 + 1.959964));
  CHECK(found.bias.interval->high - 2.0 == doctest::Approx(4.302653 / std::sqrt(3.0)));  // t, 2 degrees
  CHECK(*dahlberg_error(pairs).value == doctest::Approx(std::sqrt(14.0 / 6.0)));
}

TEST_CASE("agreement follows the unit, forgets the zero, and turns with the order") {
  const std::vector<Pair> pairs{{0.4, 0.1}, {1.2, 1.5}, {2.2, 2.1}, {0.9, 1.4}};
  const BlandAltman plain = bland_altman(pairs), other = bland_altman(scaled(pairs, 10.0, 7.0));
  CHECK(*other.bias.value == doctest::Approx(10.0 * *plain.bias.value));
  CHECK(other.upper_limit.interval->high == doctest::Approx(10.0 * plain.upper_limit.interval->high));
  CHECK(*dahlberg_error(scaled(pairs, 10.0, 7.0)).value ==
        doctest::Approx(10.0 * *dahlberg_error(pairs).value));
  std::vector<Pair> turned;
  for (const Pair& pair : pairs) turned.push_back({pair.second, pair.first});
  CHECK(*bland_altman(turned).upper_limit.value == doctest::Approx(-*plain.lower_limit.value));
}

TEST_CASE("too few pairs give what they can, and the reason for the rest") {
  const BlandAltman none = bland_altman({});
  CHECK_FALSE(none.bias.value);
  CHECK_FALSE(none.bias.reason.empty());
  CHECK_FALSE(none.upper_limit.reason.empty());
  const std::vector<Pair> one{{1.0, 0.5}};
  const BlandAltman single = bland_altman(one);
  CHECK(*single.bias.value == 0.5);
  CHECK_FALSE(single.bias.interval);
  CHECK_FALSE(single.standard_deviation);
  CHECK_FALSE(single.lower_limit.value);
  CHECK_FALSE(single.lower_limit.reason.empty());
  CHECK_FALSE(dahlberg_error({}).value);
  CHECK(*dahlberg_error(one).value == doctest::Approx(0.5 / std::sqrt(2.0)));
  const std::vector<Pair> alike{{1.0, 1.0}, {2.0, 2.0}};
  CHECK(*bland_altman(alike).upper_limit.value == 0.0);
  CHECK(*bland_altman(alike).upper_limit.interval == Interval{0.0, 0.0});
  CHECK(*dahlberg_error(alike).value == 0.0);
}

TEST_CASE("limits of agreement cover nineteen of twenty new differences") {
  Drawn drawn(5);
  std::vector<Pair> pairs;
  for (int i = 0; i < 4000; ++i) pairs.push_back({0.3 + 0.2 * drawn.normal(), 0.1 * drawn.normal()});
  const BlandAltman found = bland_altman(pairs);
  const double spread = std::sqrt(0.05);
  CHECK(*found.upper_limit.value == doctest::Approx(0.3 + 1.96 * spread).epsilon(0.02));
  CHECK(found.upper_limit.interval->low < 0.3 + 1.96 * spread);
  CHECK(found.upper_limit.interval->high > 0.3 + 1.96 * spread);
}

TEST_CASE("a shift of one rater lowers the agreement and leaves the consistency") {
  Ratings ratings = drawn_ratings(30, 3, {1.0, 0.0, 0.3}, 11);
  const Icc before = intraclass_correlation(ratings);
  for (auto& row : ratings) row[1] += 1.0;
  const Icc after = intraclass_correlation(ratings);
  CHECK(*after.consistency.value == doctest::Approx(*before.consistency.value));
  CHECK(*after.agreement.value < *before.agreement.value - 0.1);
  CHECK(*after.agreement.value < *after.consistency.value);
}

TEST_CASE("intervals of both correlations cover the true one as often as they say") {
  const Spread spread{1.0, 0.4, 0.6};
  const double agreement = 1.0 / (1.0 + 0.16 + 0.36), consistency = 1.0 / 1.36;
  int agreement_covered = 0, consistency_covered = 0;
  constexpr int draws = 1000;
  for (std::uint64_t seed = 1; seed <= draws; ++seed) {
    const Icc found = intraclass_correlation(drawn_ratings(25, 4, spread, seed));
    const Interval a = *found.agreement.interval, c = *found.consistency.interval;
    agreement_covered += a.low <= agreement && agreement <= a.high ? 1 : 0;
    consistency_covered += c.low <= consistency && consistency <= c.high ? 1 : 0;
    CHECK(a.low <= *found.agreement.value);
    CHECK(a.high >= *found.agreement.value);
    CHECK(c.high <= 1.0);
  }
  // 95 % and three standard errors of 1000 draws (2.1 %); the one for agreement is itself an approximation.
  CHECK(consistency_covered >= 929);
  CHECK(consistency_covered <= 971);
  CHECK(agreement_covered >= 920);
  CHECK(agreement_covered <= 980);
}

TEST_CASE("correlations that can't be had say why") {
  const auto reasons = [](const Ratings& ratings) {
    const Icc found = intraclass_correlation(ratings);
    CHECK_FALSE(found.agreement.value);
    CHECK_FALSE(found.consistency.value);
    CHECK_FALSE(found.agreement.reason.empty());
    CHECK_FALSE(found.consistency.reason.empty());
  };
  reasons({});
  reasons({{1.0, 2.0}});
  reasons({{1.0}, {2.0}});
  reasons({{1.0, 1.0}, {1.0, 1.0}});
  reasons({{0.06, 0.06}, {0.06, 0.06}, {0.06, 0.06}});
  reasons({{0.3, 0.1 + 0.2}, {0.3, 0.3}, {0.1 + 0.2, 0.3}});  // alike but for rounding
}

TEST_CASE("raters who agree to the last digit have a correlation of 1 and no interval") {
  const Icc found = intraclass_correlation({{1.1, 1.1}, {2.7, 2.7}, {0.3, 0.3}});
  CHECK(*found.agreement.value == doctest::Approx(1.0));
  CHECK(*found.consistency.value == doctest::Approx(1.0));
  CHECK_FALSE(found.agreement.interval);
  CHECK_FALSE(found.agreement.reason.empty());
  // A constant shift leaves nothing unexplained either, but isn't agreement.
  const Icc shifted = intraclass_correlation({{1.1, 1.3}, {2.7, 2.9}, {0.3, 0.5}});
  CHECK(*shifted.consistency.value == doctest::Approx(1.0));
  CHECK(*shifted.agreement.value < 1.0);
  CHECK_FALSE(shifted.agreement.interval);
}

TEST_CASE("subjects that don't differ have no consistency to speak of") {
  const Icc found = intraclass_correlation({{1.0, 2.0}, {1.0, 2.0}, {1.0, 2.0}});
  CHECK_FALSE(found.consistency.value);
  CHECK_FALSE(found.consistency.reason.empty());
  const Icc crossed = intraclass_correlation({{1.0, 2.0}, {2.0, 1.0}, {1.0, 2.0}});
  CHECK(*crossed.agreement.value < 0.0);
  CHECK_FALSE(crossed.agreement.interval);
  CHECK_FALSE(crossed.agreement.reason.empty());
  CHECK(crossed.consistency.interval);
}

TEST_CASE("the spread is split into subject, rater and repeat by hand") {
  // Two subjects, two raters each, two repeats: cells (0, 2), (4, 6); (10, 12), (14, 16).
  std::vector<Observation> seen;
  for (const std::size_t subject : {0U, 1U})
    for (const std::size_t rater : {0U, 1U})
      for (const double repeat : {0.0, 2.0})
        seen.push_back({subject, rater,
                        10.0 * static_cast<double>(subject) + 4.0 * static_cast<double>(rater) + repeat,
                        1.0});
  const VarianceSplit found = variance_split(seen);
  // Mean squares 2 (repeats), 16 (raters within subjects), 200 (subjects).
  CHECK(*found.within_rater == doctest::Approx(2.0));
  CHECK(*found.between_raters == doctest::Approx((16.0 - 2.0) / 2.0));
  CHECK(*found.between_subjects == doctest::Approx((200.0 - 16.0) / 4.0));
  CHECK(*found.stated == doctest::Approx(1.0));
  CHECK(*found.beyond_stated == doctest::Approx(2.0 + 7.0 - 1.0));
  CHECK(found.subjects == 2);
  CHECK(found.measurements == 8);
  CHECK(found.reason.empty());
}

TEST_CASE("the split finds what unequal numbers were drawn from") {
  double subjects = 0.0, raters = 0.0, within = 0.0;
  constexpr int draws = 200;
  for (std::uint64_t seed = 1; seed <= draws; ++seed) {
    Drawn drawn(seed);
    std::vector<Observation> seen;
    for (std::size_t i = 0; i < 40; ++i) {
      const double subject = 2.0 * drawn.normal();
      for (std::size_t j = 0; j < 1 + i % 3; ++j) {
        const double rater = 0.5 * drawn.normal();
        for (std::size_t k = 0; k < 1 + (i + j) % 2; ++k)
          seen.push_back({i, j, subject + rater + 0.3 * drawn.normal(), std::nullopt});
      }
    }
    const VarianceSplit found = variance_split(seen);
    subjects += *found.between_subjects / draws;
    raters += *found.between_raters / draws;
    within += *found.within_rater / draws;
  }
  // Means over 200 draws: each lies within three of its standard errors (2 %, 2 % and 2 %) of the truth.
  CHECK(subjects == doctest::Approx(4.0).epsilon(0.06));
  CHECK(raters == doctest::Approx(0.25).epsilon(0.06));
  CHECK(within == doctest::Approx(0.09).epsilon(0.06));
}

TEST_CASE("what was measured once has no part in the split; what can't be told apart is said") {
  const VarianceSplit none = variance_split(std::vector<Observation>{{0, 0, 1.0, 0.1}, {1, 0, 2.0, 0.1}});
  CHECK(none.subjects == 0);
  CHECK_FALSE(none.within_rater);
  CHECK_FALSE(none.reason.empty());
  const VarianceSplit one_reader = variance_split(
      std::vector<Observation>{{0, 0, 1.0, 0.1}, {0, 0, 1.4, 0.1}, {1, 0, 2.0, 0.1}, {1, 0, 2.0, 0.1}});
  CHECK_FALSE(one_reader.between_raters);
  CHECK(*one_reader.within_rater == doctest::Approx(0.04));
  CHECK(*one_reader.beyond_stated == doctest::Approx(0.03));
  CHECK_FALSE(one_reader.reason.empty());
  const VarianceSplit no_repeats = variance_split(
      std::vector<Observation>{{0, 0, 1.0, {}}, {0, 1, 1.4, {}}, {1, 0, 2.0, {}}, {1, 1, 2.2, {}}});
  CHECK_FALSE(no_repeats.within_rater);
  CHECK(*no_repeats.between_raters == doctest::Approx(0.05));
  CHECK_FALSE(no_repeats.stated);
  CHECK_FALSE(no_repeats.reason.empty());
}
