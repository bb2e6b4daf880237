#include "texture.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "random.hpp"

namespace canalrule::phantom {

namespace {

struct Taps {
  std::size_t first;
  std::array<float, 4> weight;
};

/// Weights of the four lattice points about each pixel: the uniform cubic B-spline.
std::vector<Taps> taps(int length, double spacing) {
  std::vector<Taps> all(static_cast<std::size_t>(length));
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double at = static_cast<double>(i) / spacing;
    const double whole = std::floor(at), t = at - whole, u = 1.0 - t;
    all[i] = {static_cast<std::size_t>(whole),
              {static_cast<float>(u * u * u / 6.0),
               static_cast<float>((3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0),
               static_cast<float>((3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0),
               static_cast<float>(t * t * t / 6.0)}};
  }
  return all;
}

void add(std::vector<float>& sum, const std::vector<float>& layer, double factor) {
  const auto f = static_cast<float>(factor);
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += f * layer[i];
}

void standardise(std::vector<float>& field) {
  double mean = 0.0, square = 0.0;
  for (float v : field) mean += static_cast<double>(v);
  mean /= static_cast<double>(field.size());
  for (float v : field) square += (static_cast<double>(v) - mean) * (static_cast<double>(v) - mean);
  const double scale = 1.0 / std::sqrt(square / static_cast<double>(field.size()) + 1e-30);
  for (float& v : field) v = static_cast<float>((static_cast<double>(v) - mean) * scale);
}

}  // namespace

std::vector<float> lattice_noise(int columns, int rows, double spacing_x, double spacing_y,
                                 std::uint64_t seed, std::uint64_t stream) {
  const auto w = static_cast<std::size_t>(columns), h = static_cast<std::size_t>(rows);
  const std::vector<Taps> x = taps(columns, spacing_x), y = taps(rows, spacing_y);
  const std::size_t lattice_w = x.back().first + 4, lattice_h = y.back().first + 4;
  Random random(seed, stream);
  std::vector<float> wide(lattice_h * w), line(lattice_w);
  for (std::size_t r = 0; r < lattice_h; ++r) {
    for (float& v : line) v = static_cast<float>(random.normal());
    float* out = &wide[r * w];
    for (std::size_t c = 0; c < w; ++c) {
      const float* in = &line[x[c].first];
      const auto& k = x[c].weight;
      out[c] = (k[0] * in[0] + k[1] * in[1]) + (k[2] * in[2] + k[3] * in[3]);
    }
  }
  std::vector<float> field(w * h);
  for (std::size_t r = 0; r < h; ++r) {
    const auto& k = y[r].weight;
    const float* a = &wide[y[r].first * w];
    const float *b = a + w, *c = b + w, *d = c + w;
    float* out = &field[r * w];
    for (std::size_t i = 0; i < w; ++i) out[i] = (k[0] * a[i] + k[1] * b[i]) + (k[2] * c[i] + k[3] * d[i]);
  }
  return field;
}

std::vector<float> texture(int columns, int rows, const TextureKind& kind, std::uint64_t seed) {
  const auto size = static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  std::vector<float> cloud(size, 0.0F);
  // Octaves from 0.09 mm to 5.8 mm; the standard deviation of an octave of a two-dimensional spectrum
  // 1/f^(2 exponent) goes as spacing^(exponent - 1).
  constexpr double finest_mm = 0.09;
  for (int octave = 0; octave < 7; ++octave) {
    const double spacing = std::max(2.0, finest_mm * std::exp2(octave) / kind.pixel_mm);
    add(cloud, lattice_noise(columns, rows, spacing, spacing, seed, 100 + static_cast<std::uint64_t>(octave)),
        std::pow(spacing, kind.exponent - 1.0));
  }
  standardise(cloud);
  if (kind.strands <= 0.0) return cloud;

  std::vector<float> strands(size, 0.0F);
  const double mesh = kind.trabecula_mm / kind.pixel_mm;
  const std::vector<float> fading = lattice_noise(columns, rows, 2.5 * mesh, 2.5 * mesh, seed, 300);
  struct Layer {
    double x, y, height, sharpness;
  };
  constexpr std::array layers{Layer{1.3, 0.8, 0.9, 12.0}, Layer{0.7, 1.2, 0.9, 12.0},
                              Layer{0.45, 0.60, 1.0, 6.0}, Layer{0.40, 0.28, 0.8, 4.0}};
  for (std::size_t l = 0; l < layers.size(); ++l) {
    const Layer& layer = layers[l];
    const std::vector<float> noise = lattice_noise(columns, rows, std::max(2.0, mesh * layer.x),
                                                   std::max(2.0, mesh * layer.y), seed, 200 + l);
    // Bright where the noise is near nought: its level lines are closed meshes. They fade in and out.
    const auto height = static_cast<float>(layer.height), sharpness = static_cast<float>(layer.sharpness);
    const float sign = l % 2 == 0 ? 1.0F : -1.0F;
    for (std::size_t i = 0; i < size; ++i) {
      const float here = std::max(0.1F, 1.0F + sign * 1.4F * fading[i]);
      strands[i] += height * here / (1.0F + sharpness * noise[i] * noise[i]);
    }
  }
  standardise(strands);
  const double fine = std::sqrt(kind.strands), broad = std::sqrt(1.0 - kind.strands);
  for (std::size_t i = 0; i < size; ++i)
    cloud[i] =
        static_cast<float>(broad * static_cast<double>(cloud[i]) + fine * static_cast<double>(strands[i]));
  standardise(cloud);
  return cloud;
}

}  // namespace canalrule::phantom
