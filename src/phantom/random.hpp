#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>

namespace canalrule::phantom {

/// Random numbers that are the same on every machine: the standard fixes std::mt19937_64, but not its
/// distributions, so these are our own. Each use draws from a stream of its own, so that a change in
/// one leaves the others as they were.
class Random {
 public:
  Random(std::uint64_t seed, std::uint64_t stream) : engine_(mix(seed ^ mix(stream))) {}

  /// From 0 (included) to 1 (excluded).
  double uniform() { return static_cast<double>(engine_() >> 11) * 0x1.0p-53; }
  double uniform(double low, double high) { return low + (high - low) * uniform(); }

  /// Normal, mean 0, standard deviation 1 (Box and Muller 1958).
  double normal() {
    if (has_spare_) {
      has_spare_ = false;
      return spare_;
    }
    const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    const double angle = 2.0 * std::numbers::pi * uniform();
    spare_ = radius * std::sin(angle);
    has_spare_ = true;
    return radius * std::cos(angle);
  }

 private:
  // The finaliser of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
  static std::uint64_t mix(std::uint64_t x) {
    x += 0x9e3779b97f4a7c15ULL;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
    return x ^ (x >> 31);
  }

  std::mt19937_64 engine_;
  double spare_ = 0.0;
  bool has_spare_ = false;
};

}  // namespace canalrule::phantom
