#include "packed_frame.hpp"

#include <algorithm>
#include <cstddef>
#include <span>

namespace canalrule::dicom {

namespace {

bool is_frame_header(int marker) {
  const bool start_of_frame =
      marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
  return start_of_frame || marker == 0xF7;
}

constexpr int start_of_scan = 0xDA;

constexpr std::size_t rle_header = 64;

std::size_t little_endian(const std::vector<std::uint8_t>& stream, std::size_t at) {
  return static_cast<std::size_t>(stream[at]) | static_cast<std::size_t>(stream[at + 1]) << 8U |
         static_cast<std::size_t>(stream[at + 2]) << 16U | static_cast<std::size_t>(stream[at + 3]) << 24U;
}

/// Walks one segment's codes (PS3.5 G.3.1): 0 to 127 announce one byte more than that as they are, 129 to
/// 255 one byte repeated 257 less that often, 128 nothing.
bool unpacks_to(std::span<const std::uint8_t> segment, std::uint64_t bytes) {
  std::uint64_t unpacked = 0;
  std::size_t at = 0;
  while (unpacked < bytes) {
    if (at >= segment.size()) return false;
    const std::size_t code = segment[at++];
    if (code == 128) continue;
    const std::size_t taken = code < 128 ? code + 1 : 1;
    unpacked += code < 128 ? code + 1 : 257 - code;
    at += taken;
    if (at > segment.size()) return false;
  }
  const auto padding = segment.subspan(at);
  return unpacked == bytes &&
         std::all_of(padding.begin(), padding.end(), [](std::uint8_t b) { return b == 0 || b == 128; });
}

}  // namespace

JpegHeader jpeg_header(const std::vector<std::uint8_t>& stream) {
  JpegHeader header;
  const auto sixteen = [&stream](std::size_t at) { return stream[at] << 8 | stream[at + 1]; };
  std::size_t at = 2;
  while (at + 9 < stream.size() && stream[at] == 0xFF) {
    const int marker = stream[at + 1];
    if (marker == 0xFF) {
      ++at;
    } else if (is_frame_header(marker)) {
      header.rows = sixteen(at + 5);
      header.columns = sixteen(at + 7);
      header.components = stream[at + 9];
      break;
    } else if (marker == start_of_scan) {
      break;
    } else {
      at += 2 + static_cast<std::size_t>(sixteen(at + 2));
    }
  }
  std::size_t end = stream.size();
  while (end > 0 && stream[end - 1] == 0) --end;  // PS3.5 A.4: fragments are padded to an even length
  header.complete = end >= 2 && stream[end - 2] == 0xFF && stream[end - 1] == 0xD9;
  return header;
}

bool is_whole_rle(const std::vector<std::uint8_t>& stream, std::uint64_t pixels, int bytes_per_pixel) {
  const auto segments = static_cast<std::size_t>(bytes_per_pixel);
  if (stream.size() < rle_header || little_endian(stream, 0) != segments) return false;
  for (std::size_t i = 0; i < segments; ++i) {
    const std::size_t begin = little_endian(stream, 4 * (i + 1));
    const std::size_t end = i + 1 < segments ? little_endian(stream, 4 * (i + 2)) : stream.size();
    if (begin < rle_header || begin > end || end > stream.size()) return false;
    if (!unpacks_to(std::span(stream).subspan(begin, end - begin), pixels)) return false;
  }
  return true;
}

}  // namespace canalrule::dicom
