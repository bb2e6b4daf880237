#include "film_derivatives.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule_benchmark {

using namespace canalrule::phantom;

namespace {

/// Adds to the fill's diameter what is 1 at one of the places (mm, evenly spaced), 0 at the others, a straight
/// line between and even beyond the outermost.
void add_hat(Description& d, const std::vector<double>& places, std::size_t which, double height_mm) {
  Fill& fill = *d.canals.front().fill;
  const double line = fill.taper;
  const auto at = [&](std::size_t i) { return i == which ? height_mm : 0.0; };
  // Without breaks the line starts at the terminus; it is even up to the first place.
  fill.tip_diameter_mm += at(0);
  for (std::size_t i = 0; i < places.size(); ++i) {
    const double slope =
        i + 1 < places.size() ? (at(i + 1) - at(i)) / (places[i + 1] - places[i]) : 0.0;
    fill.breaks.push_back({places[i], 0.0, line + slope});
  }
}

/// Power at the lowest frequencies of noise of unit variance that a Gaussian has correlated.
double lowest_power(double correlation_px) {
  if (correlation_px <= 0.0) return 1.0;
  double sum = 0.0, squares = 0.0;
  for (int i = -10; i <= 10; ++i) {
    const double g = std::exp(-0.5 * i * i / (correlation_px * correlation_px));
    sum += g;
    squares += g * g;
  }
  return std::pow(sum * sum / squares, 2);
}

}  // namespace

Curve& own_curve(Description& d) {
  Canal& canal = d.canals.front();
  if (!canal.curve) canal.curve = d.tooth.roots.front().curve;
  return *canal.curve;
}

std::vector<double> even_places(double from, double to, double step) {
  std::vector<double> places;
  for (double at = from; at <= to + 1e-9; at += step) places.push_back(at);
  return places;
}

std::vector<Parameter> of_the_view() {
  return {{0.02, [](Description& d, double x) { d.canals.front().fill->opacity += x; }},
          {0.004, [](Description& d, double x) { d.detector.blur_mm += x; }},
          {0.02, [](Description& d, double x) { own_curve(d).across_mm += x; }},
          {0.2, [](Description& d, double x) { own_curve(d).splay_deg += x; }}};
}

void append_free_diameter(std::vector<Parameter>& parameters, const std::vector<double>& places) {
  for (std::size_t i = 0; i < places.size(); ++i)
    parameters.push_back({0.01, [places, i](Description& d, double x) { add_hat(d, places, i, x); }});
}

std::vector<cv::Mat> backgrounds(const KnownFilm::Window& w, double from, double to, int pieces) {
  std::vector<cv::Mat> all;
  for (int power = 0; power <= 2; ++power)
    for (int piece = 0; piece <= pieces; ++piece) {
      cv::Mat one = cv::Mat::zeros(w.where.size(), CV_64F);
      for (int r = 0; r < one.rows; ++r)
        for (int c = 0; c < one.cols; ++c) {
          const double along = (w.along.at<double>(r, c) - from) / (to - from) * pieces - piece;
          one.at<double>(r, c) =
              std::max(0.0, 1.0 - std::abs(along)) * std::pow(w.aside.at<double>(r, c), power);
        }
      one.setTo(0.0, w.usable == 0);
      all.push_back(one);
    }
  return all;
}

cv::Mat derivative(const KnownFilm& film, const KnownFilm::Window& w, const Parameter& p) {
  Description above = film.description(), below = film.description();
  p.change(above, p.step);
  p.change(below, -p.step);
  cv::Mat d = (film.attenuation(above, w) - film.attenuation(below, w)) / (2.0 * p.step);
  d.setTo(0.0, w.usable == 0);
  return d;
}

Description on_larger_pixels(Description d) {
  d.detector.pixel_mm *= 2.0;
  d.detector.columns /= 2;
  d.detector.rows /= 2;
  const double correlation = d.detector.noise_correlation_px;
  const double gain = 4.0 * lowest_power(0.5 * correlation) / lowest_power(correlation);
  d.detector.noise_correlation_px *= 0.5;
  d.detector.electronic_noise /= std::sqrt(gain);
  d.beam.photons_per_pixel *= gain;
  return d;
}

}  // namespace canalrule_benchmark
