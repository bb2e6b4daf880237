#pragma once

#include <cstdint>
#include <vector>

namespace canalrule::phantom {

/// Trabecular pattern, mean 0 and standard deviation 1 over the film: octaves of lattice noise
/// (normal numbers on a lattice, cubic B-splines between), the amplitude rising with the lattice's
/// spacing so that the spectrum falls as 1 / frequency^exponent, mixed with strands (the crests of
/// such noise), stretched along and across.
struct TextureKind {
  double pixel_mm = 0.03;      ///< of the object
  double exponent = 1.4;
  double strands = 0.5;        ///< share of the variance
  double trabecula_mm = 0.7;
};
std::vector<float> texture(int columns, int rows, const TextureKind& kind, std::uint64_t seed);

/// One layer: lattice noise at the spacing given in pixels, of unit variance on the lattice.
std::vector<float> lattice_noise(int columns, int rows, double spacing_x, double spacing_y,
                                 std::uint64_t seed, std::uint64_t stream);

}  // namespace canalrule::phantom
