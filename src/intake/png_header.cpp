#include "png_header.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace canalrule {

namespace {

constexpr std::array<std::uint8_t, 8> signature{0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A};
constexpr std::string_view header_chunk("\x00\x00\x00\x0DIHDR", 8);
constexpr std::size_t header_end = 8 + 8 + 13 + 4;

std::uint32_t thirty_two(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint32_t>(bytes[at]) << 24U | static_cast<std::uint32_t>(bytes[at + 1]) << 16U |
         static_cast<std::uint32_t>(bytes[at + 2]) << 8U | static_cast<std::uint32_t>(bytes[at + 3]);
}

std::uint64_t samples_per_pixel(int colour_type) {
  switch (colour_type) {
    case 2: return 3;
    case 4: return 2;
    case 6: return 4;
    default: return 1;
  }
}

}  // namespace

bool looks_like_png(std::span<const std::uint8_t> bytes) {
  return bytes.size() >= signature.size() && std::equal(signature.begin(), signature.end(), bytes.begin());
}

std::optional<PngHeader> png_header(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < header_end) return std::nullopt;
  for (std::size_t i = 0; i < header_chunk.size(); ++i)
    if (bytes[8 + i] != static_cast<std::uint8_t>(header_chunk[i])) return std::nullopt;
  return PngHeader{thirty_two(bytes, 16), thirty_two(bytes, 20), bytes[24], bytes[25]};
}

std::uint64_t fewest_png_bytes(const PngHeader& header) {
  const std::uint64_t row_bits =
      header.columns * samples_per_pixel(header.colour_type) * static_cast<std::uint64_t>(header.bit_depth);
  return header.rows * (row_bits / 8) / 1032;
}

}  // namespace canalrule
