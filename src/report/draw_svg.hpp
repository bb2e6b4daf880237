#pragma once

#include <canalrule/report/scene.hpp>
#include <pugixml.hpp>
#include <string>

namespace canalrule::report {

/// The scene as an SVG 1.1 document, sized in mm for paper, that refers to nothing outside itself.
std::string draw_svg(const Scene& scene);

/// The scene as an `svg` element inside another document. Every id in it begins with `prefix`, so that one
/// document can hold many.
pugi::xml_node append_svg(pugi::xml_node parent, const Scene& scene, const std::string& prefix);

}  // namespace canalrule::report
