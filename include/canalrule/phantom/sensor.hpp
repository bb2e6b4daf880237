#pragma once

#include <cstdint>
#include <vector>

#include <opencv2/core.hpp>

#include <canalrule/phantom/description.hpp>

namespace canalrule::phantom {

/// One plane of doubles, row by row.
struct Plane {
  int columns = 0, rows = 0;
  std::vector<double> value;
  Plane() = default;
  Plane(int c, int r, double v)
      : columns(c), rows(r), value(static_cast<std::size_t>(c) * static_cast<std::size_t>(r), v) {}
  double& at(int c, int r) {
    return value[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns) +
                 static_cast<std::size_t>(c)];
  }
  double at(int c, int r) const {
    return value[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns) +
                 static_cast<std::size_t>(c)];
  }
};

/// Convolution with a Gaussian of the standard deviation given in pixels, its taps the Gaussian's
/// values out to 5 standard deviations and of sum 1; edges repeat. Nought leaves the plane as it is.
void blur(Plane& plane, double sigma_px);

/// Adds scattered radiation: `ratio` times the primary exposure's mean, following its broad shape.
void add_scatter(Plane& exposure, double ratio, double pixel_mm);

/// Adds quantum and electronic noise.
void add_noise(Plane& exposure, const Beam& beam, const Detector& detector, std::uint64_t seed);

struct Grey {
  cv::Mat grey;  ///< CV_16UC1
  double window_low = 0.0, window_high = 0.0;
  double clipped_share = 0.0;
};
/// Exposure (open beam: 1) to stored grey values.
Grey respond(const Plane& exposure, const Detector& detector, double magnification);

}  // namespace canalrule::phantom
