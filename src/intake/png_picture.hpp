#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <variant>

namespace canalrule {

/// A PNG's samples as they stand in the file, before anything is made of them.
struct PngPicture {
  std::uint32_t columns = 0;
  std::uint32_t rows = 0;
  int bit_depth = 0;         ///< of a sample: 1, 2, 4, 8 or 16
  int channels = 0;          ///< grey or palette index 1, grey and alpha 2, colour 3, colour and alpha 4
  int significant_bits = 0;  ///< sBIT of the grey or red, else bit_depth
  bool has_palette = false;
  int palette_size = 0;
  std::array<std::array<std::uint8_t, 3>, 256> palette{};
  std::array<std::uint8_t, 256> palette_alpha{};            ///< 255 where the file says nothing
  std::optional<std::array<std::uint16_t, 3>> transparent;  ///< tRNS: the one grey (all three) or colour
  double row_to_column_aspect = 1.0;                        ///< pHYs: height of a pixel over its width

  /// Row by row, top to bottom, channels side by side: one byte each (below 8 bits the bare value), or
  /// two, the more significant first.
  std::unique_ptr<std::uint8_t[]> samples;
  std::size_t row_bytes = 0;
};

/// What is wrong with a PNG, in words.
struct PngProblem {
  std::string text;
};

/// Decodes a PNG in memory, checksums and end included. What follows its end is not looked at.
std::variant<PngPicture, PngProblem> decode_png(std::span<const std::uint8_t> bytes);

}  // namespace canalrule
