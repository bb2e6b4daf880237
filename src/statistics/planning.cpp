#include <canalrule/statistics/planning.hpp>

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>
#include <utility>

#include <canalrule/base/fault.hpp>

namespace canalrule::statistics {

namespace {

void check(const ProportionPlan& plan) {
  ensure(plan.expected_share >= 0.0 && plan.expected_share <= 1.0, "a share lies between 0 and 1");
  ensure(plan.half_width > 0.0 && plan.half_width < 0.5, "half an interval lies between 0 and 0.5");
  ensure(plan.design_effect >= 1.0, "a design effect is 1 or more");
  ensure(!plan.population || *plan.population > 0, "a population is not empty");
}

/// The whole number that reaches n; what rounding adds to a whole n must not cost another one.
std::size_t whole(double n) { return static_cast<std::size_t>(std::ceil(n - 1e-9)); }

SampleSize of_population(double independent, const ProportionPlan& plan) {
  const double clustered = independent * plan.design_effect;
  if (!plan.population) return {whole(clustered), independent};
  const double all = static_cast<double>(*plan.population);
  const double needed = clustered / (1.0 + (clustered - 1.0) / all);
  return {std::min(whole(needed), *plan.population), independent};
}

}  // namespace

double design_effect_of(double mean_cluster_size, double intracluster_correlation) {
  ensure(mean_cluster_size >= 1.0, "a cluster holds one at least");
  ensure(intracluster_correlation >= 0.0 && intracluster_correlation <= 1.0,
         "an intracluster correlation lies between 0 and 1");
  return 1.0 + (mean_cluster_size - 1.0) * intracluster_correlation;
}

SampleSize sample_size_normal(const ProportionPlan& plan) {
  check(plan);
  const double z = normal_quantile_of_level(plan.level);
  const double variance = plan.expected_share * (1.0 - plan.expected_share);
  if (variance == 0.0) return {};
  return of_population(z * z * variance / (plan.half_width * plan.half_width), plan);
}

/// With t = z^2 / n, half the width h of Wilson's interval is sqrt(p q t + t^2 / 4) / (1 + t), which grows
/// with t: solved for t where h is the wanted one.
SampleSize sample_size_wilson(const ProportionPlan& plan) {
  check(plan);
  const double z = normal_quantile_of_level(plan.level);
  const double variance = plan.expected_share * (1.0 - plan.expected_share);
  const double h2 = plan.half_width * plan.half_width;
  const double a = 0.25 - h2;
  const double b = variance - 2.0 * h2;
  const double root = std::sqrt(b * b + 4.0 * a * h2);
  const double t = b > 0.0 ? 2.0 * h2 / (b + root) : (root - b) / (2.0 * a);
  return of_population(z * z / t, plan);
}

SeededWords::SeededWords(std::uint64_t seed) {
  for (std::uint64_t& word : state_) {
    seed += 0x9e3779b97f4a7c15ULL;
    std::uint64_t x = seed;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
    word = x ^ (x >> 31);
  }
}

SeededWords::SeededWords(const std::array<std::uint64_t, 4>& state) : state_(state) {
  ensure(std::any_of(state.begin(), state.end(), [](std::uint64_t word) { return word != 0; }),
         "a generator that starts from 0 alone stays there");
}

std::uint64_t SeededWords::next() {
  const std::uint64_t result = std::rotl(state_[1] * 5, 7) * 9;
  const std::uint64_t shifted = state_[1] << 17;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= shifted;
  state_[3] = std::rotl(state_[3], 45);
  return result;
}

std::uint64_t SeededWords::below(std::uint64_t bound) {
  ensure(bound > 0, "there is something to draw from");
  // Words below 2^64 mod bound are thrown away, so that every remainder is left with as many words.
  const std::uint64_t surplus = (0 - bound) % bound;
  std::uint64_t word = next();
  while (word < surplus) word = next();
  return word % bound;
}

std::vector<std::size_t> draw_without_replacement(std::size_t population, std::size_t size,
                                                  std::uint64_t seed) {
  ensure(size <= population, "no more is drawn than there is");
  std::vector<std::size_t> order(population);
  std::iota(order.begin(), order.end(), std::size_t{0});
  SeededWords words(seed);
  for (std::size_t i = 0; i < size; ++i)
    std::swap(order[i], order[i + static_cast<std::size_t>(words.below(population - i))]);
  order.resize(size);
  return order;
}

}  // namespace canalrule::statistics
