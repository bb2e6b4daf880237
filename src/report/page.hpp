#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// The whole picture on a landscape A4 page (taller where there are more than four canals).
Scene page_scene(const Film& film, const Result& result);

}  // namespace canalrule::report
