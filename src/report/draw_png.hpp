#pragma once

#include <cstdint>
#include <vector>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// Dots per inch of the PNG picture: an A4 page printed without visible steps (chosen here).
constexpr double png_dots_per_inch = 200.0;

/// The scene as the bytes of a PNG file, 24-bit colour on white.
std::vector<std::uint8_t> draw_png(const Scene& scene);

/// A grey picture as the bytes of an 8-bit grey PNG file.
std::vector<std::uint8_t> encode_grey_png(const GreyImage& image);

}  // namespace canalrule::report
