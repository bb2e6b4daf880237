#include "bounds.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <functional>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace canalrule_benchmark {

using namespace canalrule::phantom;

namespace {

constexpr double beside_mm = 0.8;  // what of the flanks takes part; chosen here, half as much again as is measured

using Change = std::function<void(Description&, double)>;

struct Parameter {
  double step = 0.0;
  Change change;
};

Curve& own_curve(Description& d) {
  Canal& canal = d.canals.front();
  if (!canal.curve) canal.curve = d.tooth.roots.front().curve;
  return *canal.curve;
}

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

/// The background's freedom: powers of the distance across, each with hats along.
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

/// The covariance that bounds that of any unbiased estimate of the parameters.
cv::Mat bound(const KnownFilm& film, const KnownFilm::Window& w, const std::vector<Parameter>& parameters,
              const std::vector<cv::Mat>& nuisance) {
  std::vector<cv::Mat> slopes;
  for (const Parameter& p : parameters) slopes.push_back(derivative(film, w, p));
  slopes.insert(slopes.end(), nuisance.begin(), nuisance.end());
  const ColouredNoise noise = film.noise(w);
  const int n = static_cast<int>(slopes.size());
  cv::Mat information(n, n, CV_64F);
  std::vector<cv::Mat> white;
  for (int i = 0; i < n; ++i) {
    white.push_back(noise.whitened(slopes[static_cast<std::size_t>(i)]));
    for (int j = 0; j <= i; ++j)
      information.at<double>(i, j) = information.at<double>(j, i) =
          white.back().dot(slopes[static_cast<std::size_t>(j)]);
  }
  // Scaled to a diagonal of ones before it is inverted.
  cv::Mat scale(n, 1, CV_64F);
  for (int i = 0; i < n; ++i) scale.at<double>(i) = 1.0 / std::sqrt(information.at<double>(i, i) + 1e-300);
  cv::Mat scaled = information.mul(scale * scale.t()), inverse;
  canalrule::ensure(cv::invert(scaled, inverse, cv::DECOMP_SVD) > 0.0, "information that can be inverted");
  return inverse.mul(scale * scale.t());
}

double deviation(const cv::Mat& covariance, std::size_t which) {
  const int i = static_cast<int>(which);
  return std::sqrt(std::max(0.0, covariance.at<double>(i, i)));
}

double terminus_bound(const KnownFilm& film) {
  const Fill& fill = *film.description().canals.front().fill;
  const double tip = fill.terminus_mm, from = tip - 1.5, to = tip + 2.5;
  std::vector<Parameter> parameters{
      // The end moves, the body it ends stays.
      {0.02,
       [](Description& d, double x) {
         Fill& f = *d.canals.front().fill;
         f.terminus_mm += x;
         f.tip_diameter_mm += f.taper * x;
       }},
      {0.05, [](Description& d, double x) { d.canals.front().fill->tip_rounding += x; }}};
  const std::vector<Parameter> view = of_the_view();
  parameters.insert(parameters.end(), view.begin(), view.end());
  append_free_diameter(parameters, even_places(tip + 0.5, to, 0.5));
  if (tip > 0.1) {
    parameters.push_back({0.02, [](Description& d, double x) { d.canals.front().foramen_mm += x; }});
    parameters.push_back({0.01, [](Description& d, double x) { d.canals.front().unfilled_taper += x; }});
  }
  const auto w = film.window(from, to, beside_mm);
  return deviation(bound(film, w, parameters, backgrounds(w, from, to, 1)), 0);
}

double width_bound(const KnownFilm& film) {
  const Fill& fill = *film.description().canals.front().fill;
  const double middle = 0.5 * (fill.terminus_mm + fill.coronal_mm);
  std::vector<Parameter> parameters = of_the_view();
  const std::size_t wanted = parameters.size() + 3;
  append_free_diameter(parameters, even_places(middle - 1.5, middle + 1.5, 0.5));
  const auto w = film.window(middle - 1.5, middle + 1.5, beside_mm);
  return deviation(bound(film, w, parameters, backgrounds(w, middle - 1.5, middle + 1.5, 1)), wanted);
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

/// The same film on pixels twice as large, each with what four of them counted: for what reaches over the whole
/// fill, where the finest detail tells nothing more.
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

struct Straight {
  double width_mm = 0.0, taper = 0.0;
};
Straight straight_bound(const Description& description) {
  const KnownFilm film(on_larger_pixels(description), 2);
  const Fill& fill = *film.description().canals.front().fill;
  const double middle = 0.5 * (fill.terminus_mm + fill.coronal_mm);
  std::vector<Parameter> parameters{
      {0.005, [](Description& d, double x) { d.canals.front().fill->tip_diameter_mm += x; }},
      {0.001,
       [middle](Description& d, double x) {
         Fill& f = *d.canals.front().fill;
         f.taper += x;
         f.tip_diameter_mm -= x * (middle - f.terminus_mm);
       }},
      {1.0, [](Description& d, double x) { own_curve(d).bend_deg += x; }}};
  const std::vector<Parameter> view = of_the_view();
  parameters.insert(parameters.end(), view.begin(), view.end());
  const double from = fill.terminus_mm + 0.5 * fill.tip_rounding * fill.tip_diameter_mm,
               to = fill.coronal_mm - 0.3;
  const auto w = film.window(from, to, beside_mm);
  const int pieces = std::max(1, static_cast<int>(std::lround((to - from) / 3.0)));
  const cv::Mat covariance = bound(film, w, parameters, backgrounds(w, from, to, pieces));
  return {deviation(covariance, 0), deviation(covariance, 1)};
}

/// The gap moved to another place.
Description moved(Description d, double at_mm) {
  d.canals.front().fill->defects.front().at_mm = at_mm;
  return d;
}

Description without_gap(Description d) {
  d.canals.front().fill->defects.clear();
  return d;
}

Description without_noise(Description d) {
  d.jaw.texture = 0.0;
  d.beam.photons_per_pixel = 0.0;
  d.detector.electronic_noise = 0.0;
  d.canals.front().fill->uneven = 0.0;
  return d;
}

}  // namespace

Bounds bounds_of(const Description& description) {
  const Straight straight = straight_bound(description);
  const KnownFilm film(description);
  return {terminus_bound(film), width_bound(film), straight.width_mm, straight.taper};
}

GapBounds gap_bounds_of(const Description& with_gap) {
  const KnownFilm film(with_gap);
  const Defect& gap = with_gap.canals.front().fill->defects.front();
  const double half = 0.5 * gap.length_mm + 1.0, from = gap.at_mm - half, to = gap.at_mm + half;
  std::vector<Parameter> parameters{
      {0.02, [](Description& d, double x) { d.canals.front().fill->defects.front().at_mm += x; }},
      {0.02, [](Description& d, double x) { d.canals.front().fill->defects.front().length_mm += x; }},
      {0.02, [](Description& d, double x) { *d.canals.front().fill->defects.front().deficit -= x; }},
      {0.01, [](Description& d, double x) { d.canals.front().fill->tip_diameter_mm += x; }}};
  const std::vector<Parameter> view = of_the_view();
  parameters.insert(parameters.end(), view.begin(), view.end());
  const auto w = film.window(from, to, beside_mm);
  const cv::Mat covariance = bound(film, w, parameters, backgrounds(w, from, to, 1));
  return {deviation(covariance, 0), deviation(covariance, 1), deviation(covariance, 2)};
}

Observed ideal_observer(const Description& with_gap) {
  const Description gapless = on_larger_pixels(without_gap(with_gap));
  const KnownFilm film(gapless, 2);
  const Fill& fill = *with_gap.canals.front().fill;
  const Defect& gap = fill.defects.front();
  const auto whole = film.window(fill.terminus_mm - 0.2, fill.coronal_mm + 0.2, beside_mm);
  const ColouredNoise noise = film.noise(whole);
  const cv::Rect fine(2 * whole.where.x, 2 * whole.where.y, 2 * whole.where.width, 2 * whole.where.height);
  const cv::Mat known = KnownFilm::drawn(without_noise(without_gap(with_gap)), fine);
  const auto whitened_noise = [&](const Description& d) {
    cv::Mat residual;
    cv::resize(KnownFilm::drawn(d, fine) - known, residual, whole.where.size(), 0.0, 0.0, cv::INTER_AREA);
    return noise.whitened(residual);
  };
  const cv::Mat with = whitened_noise(with_gap), without = whitened_noise(without_gap(with_gap));

  // The filter's own noise varies slowly along the fill: it is reckoned at some places and interpolated.
  const double clear = 0.5 + 0.5 * gap.length_mm;
  const double from = fill.terminus_mm + clear, to = fill.coronal_mm - clear;
  constexpr int stations = 5;
  std::vector<double> station_energy;
  const auto signal_at = [&](double at) {
    // Drawn about the gap only; nought elsewhere.
    const auto near = film.window(at - 0.5 * gap.length_mm - 0.4, at + 0.5 * gap.length_mm + 0.4, 0.3);
    const cv::Rect inside = near.where & whole.where;
    cv::Mat signal = cv::Mat::zeros(whole.where.size(), CV_64F);
    const cv::Mat change = film.attenuation(moved(on_larger_pixels(with_gap), at), near) - film.attenuation(gapless, near);
    change(inside - near.where.tl()).copyTo(signal(inside - whole.where.tl()));
    signal.setTo(0.0, whole.usable == 0);
    return signal;
  };
  const auto energy = [&](const cv::Mat& signal) { return signal.dot(noise.whitened(signal)); };
  for (int i = 0; i < stations; ++i)
    station_energy.push_back(energy(signal_at(from + (to - from) * i / (stations - 1.0))));

  Observed seen;
  seen.with_gap.distinctness = std::sqrt(energy(signal_at(gap.at_mm)));
  const double step = std::min(0.1, 0.25 * gap.length_mm + 0.025);
  const int places = std::max(1, static_cast<int>((to - from) / step));
  for (int k = 0; k <= places; ++k) {
    const double at = from + (to - from) * k / places;
    const double position = std::clamp((at - from) / (to - from) * (stations - 1), 0.0, stations - 1.001);
    const auto i = static_cast<std::size_t>(position);
    const double share = position - static_cast<double>(i);
    const double spread = std::sqrt((1.0 - share) * station_energy[i] + share * station_energy[i + 1]);
    const cv::Mat signal = signal_at(at);
    const double here = signal.dot(with) / spread, there = signal.dot(without) / spread;
    if (k == 0 || here > seen.with_gap.score) {
      seen.with_gap.score = here;
      seen.with_gap.at_mm = at;
    }
    seen.without_gap = k == 0 ? there : std::max(seen.without_gap, there);
  }
  return seen;
}

}  // namespace canalrule_benchmark
