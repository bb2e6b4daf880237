#pragma once

#include <cairo.h>

#include <canalrule/report/scene.hpp>
#include <memory>

namespace canalrule::report {

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
using Pen = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;

/// How letters get onto the surface.
enum class Letters {
  outlined,  ///< as filled shapes: neither hinting nor a screen's sub-pixels change them
  as_text    ///< as text that can be searched and copied
};

/// Draws the scene where the pen's coordinates, in points, begin.
void paint(cairo_t* pen, const Scene& scene, Letters letters);

Surface make_image(cairo_format_t format, int columns, int rows);

/// A surface of the grey picture; `format` is A8 (one byte a pixel) or RGB24 (four).
Surface grey_surface(const GreyImage& image, cairo_format_t format);

}  // namespace canalrule::report
