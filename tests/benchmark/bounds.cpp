#include "bounds.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "film_derivatives.hpp"
#include "information.hpp"

namespace canalrule_benchmark {

using namespace canalrule::phantom;

namespace {

/// The covariance that bounds that of any unbiased estimate of the parameters.
cv::Mat bound(const KnownFilm& film, const KnownFilm::Window& w, const std::vector<Parameter>& parameters,
              const std::vector<cv::Mat>& nuisance) {
  std::vector<cv::Mat> slopes;
  for (const Parameter& p : parameters) slopes.push_back(derivative(film, w, p));
  slopes.insert(slopes.end(), nuisance.begin(), nuisance.end());
  return information_of(film.noise(w), slopes).inverse;
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

}  // namespace canalrule_benchmark
