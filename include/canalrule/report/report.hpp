#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// The report for a terminal of 80 columns; one canal fits 24 lines, two fit 40. UTF-8.
std::string text_report(const Result& result);

/// The film with what was found on it, and each canal unrolled beside it, as an SVG document that
/// refers to nothing outside itself.
std::string svg_picture(const Film& film, const Result& result);

/// The same picture as the bytes of a PNG file.
std::vector<std::uint8_t> png_picture(const Film& film, const Result& result);

}  // namespace canalrule
