#pragma once

#include <cstdint>
#include <optional>
#include <span>

namespace canalrule {

/// The PNG image header (ISO/IEC 15948, 11.2.2).
struct PngHeader {
  std::uint32_t columns = 0;
  std::uint32_t rows = 0;
  int bit_depth = 0;
  int colour_type = 0;
};

bool looks_like_png(std::span<const std::uint8_t> bytes);

/// Nothing where the file ends before the header does or begins with another chunk.
std::optional<PngHeader> png_header(std::span<const std::uint8_t> bytes);

/// The fewest bytes of deflated data that can hold the picture: deflate packs at most 1032 to 1 (RFC 1951:
/// 258 bytes for 2 bits).
std::uint64_t fewest_png_bytes(const PngHeader& header);

}  // namespace canalrule
