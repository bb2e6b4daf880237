#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include <canalrule/statistics/estimate.hpp>

/// How many to look at, and which.
namespace canalrule::statistics {

struct ProportionPlan {
  double expected_share = 0.5;  ///< 0 to 1; 0.5 asks for the most where nothing is known
  double half_width = 0.05;     ///< wanted of the interval, a share above 0 and below 0.5
  double level = usual_level;
  /// Of things that could be drawn; missing: without end.
  std::optional<std::size_t> population = std::nullopt;
  double design_effect = 1.0;  ///< 1 or more
};

/// Kish's design effect of clusters of mean size m with intracluster correlation rho: 1 + (m - 1) rho (Kish,
/// Survey Sampling 1965, 5.4). m at least 1, rho 0 to 1.
double design_effect_of(double mean_cluster_size, double intracluster_correlation);

struct SampleSize {
  std::size_t size = 0;    ///< to be drawn: the whole number that suffices, at most the population
  double unlimited = 0.0;  ///< n0 before population and clustering
};

/// By the normal approximation (Cochran, Sampling Techniques 1977, 4.4): n0 = z^2 p (1 - p) / e^2, times the
/// design effect, then n = n0 / (1 + (n0 - 1) / N). Where p is 0 or 1 this says nothing (0): use the other.
SampleSize sample_size_normal(const ProportionPlan& plan);

/// The least n whose Wilson interval about the expected share is no wider than 2 e; n0 is its effective size,
/// design effect and population as above. Serves any share, 0 and 1 included.
SampleSize sample_size_wilson(const ProportionPlan& plan);

/// `size` different numbers below `population`, in the order of drawing: every set has the same chance, and
/// the first k of a longer draw with the same seed are the draw of k. The same on every machine: xoshiro256**
/// (Blackman and Vigna, ACM Trans Math Softw 2021;47:36) seeded by SplitMix64 (Steele, Lea, Flood, OOPSLA
/// 2014), whole numbers by rejection, and the shuffle of Durstenfeld (Commun ACM 1964;7:420). size <=
/// population.
std::vector<std::size_t> draw_without_replacement(std::size_t population, std::size_t size,
                                                  std::uint64_t seed);

/// The generator behind it, for its own tests: xoshiro256** by its four words, or seeded by SplitMix64.
class SeededWords {
 public:
  explicit SeededWords(std::uint64_t seed);
  explicit SeededWords(const std::array<std::uint64_t, 4>& state);  ///< not all 0
  std::uint64_t next();
  /// From 0 to `bound` - 1, each with the same chance; bound at least 1.
  std::uint64_t below(std::uint64_t bound);

 private:
  std::array<std::uint64_t, 4> state_{};
};

}  // namespace canalrule::statistics
