#pragma once

#include <string>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// The scene as an SVG 1.1 document, sized in mm for paper, that refers to nothing outside itself.
std::string draw_svg(const Scene& scene);

}  // namespace canalrule::report
