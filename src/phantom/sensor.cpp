#include <canalrule/phantom/sensor.hpp>

#include <algorithm>
#include <cmath>

#include "jpeg.hpp"
#include "random.hpp"

namespace canalrule::phantom {

namespace {

constexpr double least_exposure = 1e-6;  // keeps the logarithm finite behind metal

std::vector<double> gaussian(double sigma_px) {
  const int reach = std::max(1, static_cast<int>(std::ceil(5.0 * sigma_px)));
  std::vector<double> taps(static_cast<std::size_t>(2 * reach + 1));
  double sum = 0.0;
  for (int i = -reach; i <= reach; ++i)
    sum += taps[static_cast<std::size_t>(i + reach)] = std::exp(-0.5 * i * i / (sigma_px * sigma_px));
  for (double& t : taps) t /= sum;
  return taps;
}

struct Ends {
  double low = 0.0, high = 0.0;
};

/// The 0.1 and 99.9 percentiles, from every seventh pixel.
Ends percentiles(const Plane& plane) {
  std::vector<double> some;
  some.reserve(plane.value.size() / 7 + 1);
  for (std::size_t i = 0; i < plane.value.size(); i += 7) some.push_back(plane.value[i]);
  const auto rank = [&](double share) {
    const auto k = static_cast<std::ptrdiff_t>(share * static_cast<double>(some.size() - 1));
    std::nth_element(some.begin(), some.begin() + k, some.end());
    return some[static_cast<std::size_t>(k)];
  };
  const double low = rank(0.001);
  return {low, rank(0.999)};
}

double display(double share, const Detector& detector) {
  if (detector.display_curve == DisplayCurve::gamma)
    return share <= 0.0 ? 0.0 : std::pow(share, detector.display_strength);
  const double k = detector.display_strength;
  const auto s = [k](double v) { return 1.0 / (1.0 + std::exp(-k * (v - 0.5))); };
  return (s(share) - s(0.0)) / (s(1.0) - s(0.0));
}

/// The plate's unexposed border: full opacity outside a rectangle with rounded corners.
void add_border(Plane& level, const Detector& detector) {
  constexpr double corner_mm = 3.0;  // of a size 2 plate, about
  const double corner = corner_mm / detector.pixel_mm, border = detector.border_mm / detector.pixel_mm;
  const double half_x = 0.5 * level.columns - border - corner, half_y = 0.5 * level.rows - border - corner;
  for (int r = 0; r < level.rows; ++r)
    for (int c = 0; c < level.columns; ++c) {
      const double x = std::max(0.0, std::abs(c + 0.5 - 0.5 * level.columns) - half_x);
      const double y = std::max(0.0, std::abs(r + 0.5 - 0.5 * level.rows) - half_y);
      const double outside = std::clamp(std::sqrt(x * x + y * y) - corner + 0.5, 0.0, 1.0);
      level.at(c, r) += outside * (1.0 - level.at(c, r));
    }
}

}  // namespace

void blur(Plane& plane, double sigma_px) {
  if (sigma_px <= 0.0) return;
  const std::vector<double> taps = gaussian(sigma_px);
  const auto w = static_cast<std::size_t>(plane.columns), h = static_cast<std::size_t>(plane.rows);
  const std::size_t reach = taps.size() / 2;
  std::vector<double> padded(w + 2 * reach);
  for (std::size_t r = 0; r < h; ++r) {
    double* row = &plane.value[r * w];
    std::copy(row, row + w, padded.begin() + static_cast<std::ptrdiff_t>(reach));
    std::fill_n(padded.begin(), reach, row[0]);
    std::fill_n(padded.begin() + static_cast<std::ptrdiff_t>(reach + w), reach, row[w - 1]);
    std::fill_n(row, w, 0.0);
    for (std::size_t k = 0; k < taps.size(); ++k) {
      const double t = taps[k];
      const double* in = &padded[k];
      for (std::size_t c = 0; c < w; ++c) row[c] += t * in[c];
    }
  }
  std::vector<double> out(plane.value.size(), 0.0);
  for (std::size_t r = 0; r < h; ++r) {
    double* row = &out[r * w];
    for (std::size_t k = 0; k < taps.size(); ++k) {
      const auto from = std::clamp(static_cast<std::ptrdiff_t>(r + k) - static_cast<std::ptrdiff_t>(reach),
                                   std::ptrdiff_t{0}, static_cast<std::ptrdiff_t>(h) - 1);
      const double* in = &plane.value[static_cast<std::size_t>(from) * w];
      const double t = taps[k];
      for (std::size_t c = 0; c < w; ++c) row[c] += t * in[c];
    }
  }
  plane.value.swap(out);
}

void add_scatter(Plane& exposure, double ratio, double pixel_mm) {
  if (ratio <= 0.0) return;
  // Scatter is broad (chosen here: 4 mm): it is made on cells of about 1 mm and interpolated.
  const int cell = std::max(1, static_cast<int>(std::lround(1.0 / pixel_mm)));
  Plane coarse((exposure.columns + cell - 1) / cell, (exposure.rows + cell - 1) / cell, 0.0);
  for (int r = 0; r < coarse.rows; ++r)
    for (int c = 0; c < coarse.columns; ++c) {
      const int c1 = std::min((c + 1) * cell, exposure.columns), r1 = std::min((r + 1) * cell, exposure.rows);
      double sum = 0.0;
      for (int y = r * cell; y < r1; ++y)
        for (int x = c * cell; x < c1; ++x) sum += exposure.at(x, y);
      coarse.at(c, r) = sum / ((c1 - c * cell) * (r1 - r * cell));
    }
  double mean = 0.0;
  for (double v : coarse.value) mean += v;
  mean /= static_cast<double>(coarse.value.size());
  blur(coarse, 4.0 / (cell * pixel_mm));
  for (int r = 0; r < exposure.rows; ++r) {
    const double y = std::clamp((r + 0.5) / cell - 0.5, 0.0, coarse.rows - 1.0);
    const int r0 = std::min(static_cast<int>(y), std::max(0, coarse.rows - 2));
    const int r1 = std::min(r0 + 1, coarse.rows - 1);
    for (int c = 0; c < exposure.columns; ++c) {
      const double x = std::clamp((c + 0.5) / cell - 0.5, 0.0, coarse.columns - 1.0);
      const int c0 = std::min(static_cast<int>(x), std::max(0, coarse.columns - 2));
      const int c1 = std::min(c0 + 1, coarse.columns - 1);
      const double u = x - c0, v = y - r0;
      const double local = (1.0 - v) * ((1.0 - u) * coarse.at(c0, r0) + u * coarse.at(c1, r0)) +
                           v * ((1.0 - u) * coarse.at(c0, r1) + u * coarse.at(c1, r1));
      // Half of it even over the film, half following the primary.
      exposure.at(c, r) += ratio * 0.5 * (mean + local);
    }
  }
}

void add_noise(Plane& exposure, const Beam& beam, const Detector& detector, std::uint64_t seed) {
  const double quantum = beam.photons_per_pixel > 0.0 ? 1.0 / beam.photons_per_pixel : 0.0;
  const double electronic = detector.electronic_noise * detector.electronic_noise;
  if (quantum <= 0.0 && electronic <= 0.0) return;
  Plane noise(exposure.columns, exposure.rows, 0.0);
  Random random(seed, 1);
  for (double& v : noise.value) v = random.normal();
  if (detector.noise_correlation_px > 0.0) {
    double kept = 0.0;
    for (double t : gaussian(detector.noise_correlation_px)) kept += t * t;
    blur(noise, detector.noise_correlation_px);
    for (double& v : noise.value) v /= kept;  // the two passes leave kept^2 of the variance
  }
  for (std::size_t i = 0; i < exposure.value.size(); ++i) {
    const double e = exposure.value[i];
    exposure.value[i] = e + std::sqrt(e * quantum + electronic) * noise.value[i];
  }
}

Grey respond(const Plane& exposure, const Detector& detector, double magnification) {
  const auto count = exposure.value.size();
  Plane level(exposure.columns, exposure.rows, 0.0);  // 0 to 1, radiopaque up
  Grey result;
  if (detector.response == Response::linear) {
    // The brightest of the film (its 99.9 percentile) comes to 98 % of full scale, no exposure to the
    // dark level.
    const double gain = (0.98 - detector.dark_level) / percentiles(exposure).high;
    for (std::size_t i = 0; i < count; ++i)
      level.value[i] = 1.0 - (detector.dark_level + gain * exposure.value[i]);
  } else {
    for (std::size_t i = 0; i < count; ++i)
      level.value[i] = -std::log(std::max(exposure.value[i], least_exposure));
    const Ends ends = percentiles(level);
    result.window_low = detector.window_low.value_or(ends.low - 0.04 * (ends.high - ends.low));
    result.window_high = detector.window_high.value_or(ends.high + 0.04 * (ends.high - ends.low));
    const double scale = 1.0 / (result.window_high - result.window_low);
    for (double& v : level.value) {
      v = (v - result.window_low) * scale;
      if (detector.response == Response::display) v = display(v, detector);
    }
  }
  if (detector.sharpen_amount > 0.0) {
    Plane soft = level;
    blur(soft, detector.sharpen_radius_mm * magnification / detector.pixel_mm);
    for (std::size_t i = 0; i < count; ++i)
      level.value[i] += detector.sharpen_amount * (level.value[i] - soft.value[i]);
  }
  if (detector.border_mm > 0.0) add_border(level, detector);
  const double top = static_cast<double>((1 << detector.bits) - 1);
  result.grey.create(exposure.rows, exposure.columns, CV_16UC1);
  std::size_t clipped = 0, i = 0;
  for (int r = 0; r < exposure.rows; ++r) {
    auto* row = result.grey.ptr<std::uint16_t>(r);
    for (int c = 0; c < exposure.columns; ++c, ++i) {
      const double v = level.value[i];
      if (v <= 0.0 || v >= 1.0) ++clipped;
      const double bright = detector.radiopaque == Radiopaque::bright ? v : 1.0 - v;
      row[c] = static_cast<std::uint16_t>(std::floor(std::clamp(bright, 0.0, 1.0) * top + 0.5));
    }
  }
  if (detector.jpeg_coarseness > 0.0) compress(result.grey, detector.jpeg_coarseness, detector.bits);
  result.clipped_share = static_cast<double>(clipped) / static_cast<double>(count);
  return result;
}

}  // namespace canalrule::phantom
