#include "observers.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "film_derivatives.hpp"
#include "information.hpp"

namespace canalrule_benchmark {

using namespace canalrule::phantom;

namespace {

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

/// What must be learned from the film where the fill isn't known: contrast, blur, place, direction, bend, the diameter
/// at every 0.5 mm, and the background at every 1.5 mm.
std::vector<cv::Mat> unknown_fill(const KnownFilm& film, const KnownFilm::Window& w) {
  constexpr double diameter_every_mm = 0.5, background_every_mm = 1.5;
  const Fill& fill = *film.description().canals.front().fill;
  std::vector<Parameter> parameters = of_the_view();
  parameters.push_back({1.0, [](Description& d, double x) { own_curve(d).bend_deg += x; }});
  append_free_diameter(parameters,
                       even_places(fill.terminus_mm + diameter_every_mm, fill.coronal_mm, diameter_every_mm));
  std::vector<cv::Mat> slopes;
  for (const Parameter& p : parameters) slopes.push_back(derivative(film, w, p));
  const double length_mm = fill.coronal_mm - fill.terminus_mm;
  const int pieces = std::max(1, static_cast<int>(std::lround(length_mm / background_every_mm)));
  for (const cv::Mat& one : backgrounds(w, fill.terminus_mm, fill.coronal_mm, pieces)) slopes.push_back(one);
  return slopes;
}

/// The matched filter's output, and its energy, when nuisances are learned from the same film: what they can explain
/// is taken from the signal (the generalised likelihood ratio of a linear model; Kay, Fundamentals of Statistical
/// Signal Processing II, 1998, chapter 7).
class Learned {
 public:
  Learned(const ColouredNoise& noise, const std::vector<cv::Mat>& nuisances)
      : told_(information_of(noise, nuisances)) {}
  cv::Mat shares(const cv::Mat& plane) const {
    cv::Mat out(static_cast<int>(told_.white.size()), 1, CV_64F);
    for (int i = 0; i < out.rows; ++i) out.at<double>(i) = told_.white[static_cast<std::size_t>(i)].dot(plane);
    return out;
  }
  double explained(const cv::Mat& a, const cv::Mat& b) const { return cv::Mat(a.t() * told_.inverse * b).at<double>(0); }

 private:
  Information told_;
};

/// A matched filter at one place after another.
class Search {
 public:
  explicit Search(Seen& seen) : seen_(seen) {}
  void look_at(double at_mm, double with_gap, double without_gap) {
    if (first_ || with_gap > seen_.score) {
      seen_.score = with_gap;
      seen_.at_mm = at_mm;
    }
    seen_.without_gap = first_ ? without_gap : std::max(seen_.without_gap, without_gap);
    first_ = false;
  }

 private:
  Seen& seen_;
  bool first_ = true;
};

}  // namespace

Observed observe(const Description& with_gap) {
  const Description gapless = on_larger_pixels(without_gap(with_gap));
  const KnownFilm film(gapless, 2);
  const Fill& fill = *with_gap.canals.front().fill;
  const Defect& gap = fill.defects.front();
  const auto whole = film.window(fill.terminus_mm - 0.2, fill.coronal_mm + 0.2, beside_mm);
  const ColouredNoise noise = film.noise(whole);
  const Learned learned(noise, unknown_fill(film, whole));
  const cv::Rect fine(2 * whole.where.x, 2 * whole.where.y, 2 * whole.where.width, 2 * whole.where.height);
  const cv::Mat known = KnownFilm::drawn(without_noise(without_gap(with_gap)), fine);
  struct Residual {
    cv::Mat white, shares;
  };
  const auto residual_of = [&](const Description& d) {
    cv::Mat residual;
    cv::resize(KnownFilm::drawn(d, fine) - known, residual, whole.where.size(), 0.0, 0.0, cv::INTER_AREA);
    residual.setTo(0.0, whole.usable == 0);
    return Residual{noise.whitened(residual), learned.shares(residual)};
  };
  const Residual with = residual_of(with_gap), without = residual_of(without_gap(with_gap));

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
    const cv::Mat change =
        film.attenuation(moved(on_larger_pixels(with_gap), at), near) - film.attenuation(gapless, near);
    change(inside - near.where.tl()).copyTo(signal(inside - whole.where.tl()));
    signal.setTo(0.0, whole.usable == 0);
    return signal;
  };
  const auto energy = [&](const cv::Mat& signal) { return signal.dot(noise.whitened(signal)); };
  const auto left_of = [&](double energy_there, const cv::Mat& shares) {
    return std::sqrt(std::max(1e-12, energy_there - learned.explained(shares, shares)));
  };
  for (int i = 0; i < stations; ++i)
    station_energy.push_back(energy(signal_at(from + (to - from) * i / (stations - 1.0))));

  Observed seen;
  const cv::Mat at_gap = signal_at(gap.at_mm);
  seen.ideal.distinctness = std::sqrt(energy(at_gap));
  seen.learning.distinctness = left_of(energy(at_gap), learned.shares(at_gap));
  Search ideal(seen.ideal), learning(seen.learning);
  const double step = std::min(0.1, 0.25 * gap.length_mm + 0.025);
  const int places = std::max(1, static_cast<int>((to - from) / step));
  for (int k = 0; k <= places; ++k) {
    const double at = from + (to - from) * k / places;
    const double position = std::clamp((at - from) / (to - from) * (stations - 1), 0.0, stations - 1.001);
    const auto i = static_cast<std::size_t>(position);
    const double share = position - static_cast<double>(i);
    const double energy_there = (1.0 - share) * station_energy[i] + share * station_energy[i + 1];
    const cv::Mat signal = signal_at(at), shares = learned.shares(signal);
    const double in_with = signal.dot(with.white), in_without = signal.dot(without.white);
    const double spread = std::sqrt(energy_there), left = left_of(energy_there, shares);
    ideal.look_at(at, in_with / spread, in_without / spread);
    learning.look_at(at, (in_with - learned.explained(shares, with.shares)) / left,
                     (in_without - learned.explained(shares, without.shares)) / left);
  }
  return seen;
}

}  // namespace canalrule_benchmark
