#pragma once

#include <functional>
#include <opencv2/core.hpp>
#include <vector>

#include "known_film.hpp"

/// How a simulated film changes with what is unknown of it: differences of the phantom's own film without noise.
namespace canalrule_benchmark {

/// Film beside the outline that takes part, mm. Chosen here: half as much again as is measured.
inline constexpr double beside_mm = 0.8;

struct Parameter {
  double step = 0.0;  ///< of the difference, to both sides
  std::function<void(canalrule::phantom::Description&, double)> change;
};

canalrule::phantom::Curve& own_curve(canalrule::phantom::Description& d);

/// Contrast, blur, the line's place and direction.
std::vector<Parameter> of_the_view();
/// The fill's diameter at each of the places (mm, evenly spaced), straight between them.
void append_free_diameter(std::vector<Parameter>& parameters, const std::vector<double>& places);
std::vector<double> even_places(double from, double to, double step);

cv::Mat derivative(const KnownFilm& film, const KnownFilm::Window& w, const Parameter& p);
/// The background's freedom: powers of the distance across, each with hats along, `pieces` + 1 of them.
std::vector<cv::Mat> backgrounds(const KnownFilm::Window& w, double from, double to, int pieces);

/// The same film on pixels twice as large, each with what four of them counted: for what reaches over the whole
/// fill, where the finest detail tells nothing more.
canalrule::phantom::Description on_larger_pixels(canalrule::phantom::Description d);

}  // namespace canalrule_benchmark
