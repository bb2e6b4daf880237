#pragma once

#include <cstdint>
#include <span>
#include <string>

#include <canalrule/film/film.hpp>

namespace canalrule {

/// A PNG's bytes as a film; all of Film but sha256. Colours are read where all three channels are equal
/// at every pixel that shows, palettes where the same holds of the entries used; alpha 0 makes a pixel
/// unusable, any other alpha leaves its stored value (PNG doesn't premultiply: ISO/IEC 15948, 12.4).
/// pHYs gives the shape of a pixel but no spacing: its scale is that of a printer. sBIT gives the bits
/// stored, though values fill the whole sample (13.12).
Film read_png(std::span<const std::uint8_t> bytes, std::int64_t largest_pixels, const std::string& file);

}  // namespace canalrule
