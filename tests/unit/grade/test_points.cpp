// The arithmetic of points, by laws that any rubric must keep, on bands and figures drawn at random.
#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/grade/points.hpp>
#include <canalrule/judge/conformity.hpp>
#include <random>

#include "samples.hpp"

using namespace canalrule_test;

namespace {

constexpr CloseCall all_rules[] = {CloseCall::benefit_of_the_doubt, CloseCall::nearest_band,
                                   CloseCall::expected_points, CloseCall::no_benefit};

struct Drawn {
  std::vector<Band> bands;
  double most = 0.0;
};

/// Two to six bands on -3 to 3, their points falling from a best one at `best` (or drawn), each edge in one
/// band.
Drawn draw(std::mt19937_64& random, Better better) {
  std::uniform_real_distribution<double> place(-3.0, 3.0), step(0.0, 2.0);
  const std::size_t count = 2 + random() % 5;
  std::vector<double> edges(count - 1);
  for (double& edge : edges) edge = place(random);
  std::sort(edges.begin(), edges.end());
  const std::size_t best = better == Better::smaller  ? 0
                           : better == Better::larger ? count - 1
                                                      : random() % count;
  Drawn drawn;
  drawn.bands.resize(count);
  for (std::size_t i = 0; i + 1 < count; ++i) {
    const bool below = random() % 2 == 0;
    drawn.bands[i].upper = Limit{edges[i], below};
    drawn.bands[i + 1].lower = Limit{edges[i], !below};
  }
  for (std::size_t i = best; i-- > 0;) drawn.bands[i].points = drawn.bands[i + 1].points - step(random);
  for (std::size_t i = best + 1; i < count; ++i)
    drawn.bands[i].points = drawn.bands[i - 1].points - step(random);
  double least = 0.0;
  for (const Band& band : drawn.bands) least = std::min(least, band.points);
  for (Band& band : drawn.bands) band.points -= least;
  drawn.most = drawn.bands[best].points;
  return drawn;
}

Earned earned_at(const Drawn& drawn, double value, double uncertainty, CloseCall rule, double confidence) {
  std::vector<double> chance;
  std::size_t own = 0;
  for (std::size_t i = 0; i < drawn.bands.size(); ++i) {
    const Band& band = drawn.bands[i];
    chance.push_back(probability_of_conformity({value, uncertainty}, band.lower, band.upper));
    if (lies_between(value, band.lower, band.upper)) own = i;
  }
  return earned(drawn.bands, chance, own, rule, confidence);
}

double points_of_own_band(const Drawn& drawn, double value) {
  for (const Band& band : drawn.bands)
    if (lies_between(value, band.lower, band.upper)) return band.points;
  return -1.0;
}

/// Values that approach the best band from a side on which there are worse ones, and end in it.
std::vector<double> approaching(const Drawn& drawn, std::mt19937_64& random) {
  const auto best = std::ranges::find(drawn.bands, drawn.most, &Band::points);
  std::uniform_real_distribution<double> inside(best->lower ? best->lower->value : best->upper->value - 2.0,
                                                best->upper ? best->upper->value : best->lower->value + 2.0);
  const double end = inside(random);
  const double start = !best->lower ? 5.0 : !best->upper ? -5.0 : random() % 2 == 0 ? -5.0 : 5.0;
  std::vector<double> values;
  for (int i = 0; i <= 60; ++i) values.push_back(start + (end - start) * i / 60.0);
  return values;
}

}  // namespace

TEST_CASE("bands hold every value once, and points stay between none and the most") {
  std::mt19937_64 random(1);
  std::uniform_real_distribution<double> value(-5.0, 5.0), uncertainty(0.0, 1.0);
  for (int n = 0; n < 2000; ++n) {
    const Drawn drawn = draw(random, Better::between);
    const double at = n % 4 == 0 ? drawn.bands[0].upper->value : value(random);
    const auto holding = std::ranges::count_if(
        drawn.bands, [&](const Band& band) { return lies_between(at, band.lower, band.upper); });
    REQUIRE(holding == 1);
    const double u = n % 3 == 0 ? 0.0 : uncertainty(random);
    for (const CloseCall rule : all_rules) {
      const Earned points = earned_at(drawn, at, u, rule, 0.95);
      REQUIRE(points.points >= 0.0);
      REQUIRE(points.points <= drawn.most);
      REQUIRE(points.least <= points.points);
      REQUIRE(points.points <= points.most);
    }
  }
}

TEST_CASE("the benefit of the doubt never lowers, and no rule gives more") {
  std::mt19937_64 random(2);
  std::uniform_real_distribution<double> value(-5.0, 5.0), uncertainty(0.0, 3.0);
  for (int n = 0; n < 2000; ++n) {
    const Drawn drawn = draw(random, Better::between);
    const double at = value(random), u = uncertainty(random);
    const double benefit = earned_at(drawn, at, u, CloseCall::benefit_of_the_doubt, 0.95).points;
    REQUIRE(benefit >= points_of_own_band(drawn, at));
    for (const CloseCall rule : all_rules) REQUIRE(earned_at(drawn, at, u, rule, 0.95).points <= benefit);
  }
}

TEST_CASE("a better figure never earns less") {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> uncertainty(0.0, 1.5);
  for (int n = 0; n < 1500; ++n) {
    const Better better = n % 3 == 0 ? Better::smaller : n % 3 == 1 ? Better::larger : Better::between;
    const Drawn drawn = draw(random, better);
    const double u = uncertainty(random);
    const std::vector<double> values = approaching(drawn, random);
    for (const CloseCall rule : all_rules) {
      if (better == Better::between && (rule == CloseCall::expected_points || rule == CloseCall::no_benefit))
        continue;
      double before = -1.0;
      for (const double at : values) {
        const double now = earned_at(drawn, at, u, rule, 0.95).points;
        REQUIRE(now >= before - 1e-12);
        before = now;
      }
    }
  }
}

TEST_CASE("a certain figure earns its band's points by any rule") {
  std::mt19937_64 random(4);
  std::uniform_real_distribution<double> value(-5.0, 5.0);
  for (int n = 0; n < 500; ++n) {
    const Drawn drawn = draw(random, Better::between);
    const double at = value(random);
    for (const CloseCall rule : all_rules) {
      const Earned points = earned_at(drawn, at, 0.0, rule, 0.95);
      REQUIRE(points.points == points_of_own_band(drawn, at));
      REQUIRE(points.sureness == Sureness::sure);
    }
  }
}

TEST_CASE("a deduction is applied by the rule") {
  using enum CloseCall;
  CHECK(applied(0.97, FigureMeets::yes, benefit_of_the_doubt, 0.95).share == 1.0);
  CHECK(applied(0.90, FigureMeets::yes, benefit_of_the_doubt, 0.95).share == 0.0);
  CHECK(applied(0.90, FigureMeets::yes, nearest_band, 0.95).share == 1.0);
  CHECK(applied(0.40, FigureMeets::no, nearest_band, 0.95).share == 0.0);
  CHECK(applied(0.40, FigureMeets::no, expected_points, 0.95).share == doctest::Approx(0.4));
  CHECK(applied(0.10, FigureMeets::no, no_benefit, 0.95).share == 1.0);
  CHECK(applied(0.04, FigureMeets::no, no_benefit, 0.95).share == 0.0);
  CHECK(applied(0.50, FigureMeets::yes, no_benefit, 0.95).sureness == Sureness::too_close_to_call);
  CHECK(applied(0.04, FigureMeets::no, expected_points, 0.95).sureness == Sureness::sure);
}
