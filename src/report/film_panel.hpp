#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// Where the film lies in `frame`: as large as it fits, from the top left.
Box film_box(const Film& film, const Result& result, const Box& frame);

/// The film inside `frame`, as large as it fits from the top, with what was found drawn over it.
std::vector<Layer> film_panel(const Film& film, const Result& result, const Box& frame);

}  // namespace canalrule::report
