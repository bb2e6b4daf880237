#pragma once

#include <canalrule/phantom/sensor.hpp>
#include <canalrule/phantom/simulate.hpp>
#include <opencv2/core.hpp>

#include "coloured_noise.hpp"

/// The film of a description without noise, and the noise that would lie on it: the phantom's own anatomy,
/// canals and sensor, none of what measures. The film is its attenuation before rounding; what an invertible
/// response does to it changes no limit.
namespace canalrule_benchmark {

class KnownFilm {
 public:
  /// Of a description with one canal and one energy. `pattern_fineness`: the film's pixels are so many times as
  /// large, along and across, as those that the bone's pattern is drawn on, whose finest parts they average.
  explicit KnownFilm(const canalrule::phantom::Description& description, int pattern_fineness = 1);

  /// The pixels within `half_mm` of the canal's outline between two arc lengths, and their bounding rectangle.
  struct Window {
    cv::Rect where;
    cv::Mat usable;        ///< CV_8UC1 of its size
    cv::Mat along, aside;  ///< CV_64FC1: arc length on the canal and distance from it, mm
  };
  Window window(double from_mm, double to_mm, double half_mm) const;

  /// Attenuation in the window with the canal and the blur of `changed` in place of the film's own.
  cv::Mat attenuation(const canalrule::phantom::Description& changed, const Window& window) const;

  /// Its noise: photons and electronics, the bone's pattern, the fill's unevenness.
  ColouredNoise noise(const Window& window) const;

  /// The same film as it was drawn, noise and pattern included, as attenuation in the window.
  static cv::Mat drawn(const canalrule::phantom::Description& description, const cv::Rect& where);

  const canalrule::phantom::Description& description() const { return description_; }
  double mm_per_pixel() const { return mm_per_px_; }

 private:
  canalrule::phantom::Description description_;
  canalrule::phantom::Plane background_, scatter_, pattern_mu_;
  double mm_per_px_ = 0.0, uneven_ = 0.0;
  int pattern_fineness_ = 1;
};

}  // namespace canalrule_benchmark
