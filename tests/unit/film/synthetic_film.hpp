#pragma once

#include <cmath>
#include <cstdint>

#include <opencv2/core.hpp>

#include <canalrule/film/film.hpp>

namespace canalrule_test {

/// A film of so many bits: a smooth shade over most of the scale, noise of a known standard deviation,
/// rounded and held within the ends that are given.
inline canalrule::Film noisy_film(int bits, double noise, double lowest, double highest, std::uint64_t seed,
                                  cv::Size size = {500, 400}) {
  canalrule::Film film;
  film.bits_stored = bits;
  film.highest_grey = std::ldexp(1.0, bits) - 1.0;
  film.grey.create(size, CV_32FC1);
  cv::RNG random(seed);
  for (int row = 0; row < size.height; ++row)
    for (int column = 0; column < size.width; ++column) {
      const double shade = 0.5 + 0.25 * std::sin(column / 60.0) + 0.2 * std::cos(row / 45.0);
      const double value = shade * film.highest_grey + random.gaussian(noise);
      film.grey.at<float>(row, column) = static_cast<float>(std::clamp(std::round(value), lowest, highest));
    }
  return film;
}

}  // namespace canalrule_test
