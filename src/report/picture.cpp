#include <canalrule/report/report.hpp>
#include <canalrule/report/scene.hpp>

#include "draw_png.hpp"
#include "draw_svg.hpp"

namespace canalrule {

std::string svg_picture(const Film& film, const Result& result) {
  return report::draw_svg(report::page_scene(film, result));
}

std::vector<std::uint8_t> png_picture(const Film& film, const Result& result) {
  return report::draw_png(report::page_scene(film, result));
}

}  // namespace canalrule
