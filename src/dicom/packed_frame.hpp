#pragma once

#include <cstdint>
#include <vector>

namespace canalrule::dicom {

/// The size that a JPEG or JPEG-LS stream gives of itself (ISO/IEC 10918-1 B.2.2, ISO/IEC 14495-1 C.2.2).
struct JpegHeader {
  int rows = 0;
  int columns = 0;
  int components = 0;
  bool complete = false;  ///< whether the stream ends with its end-of-image marker
};

/// Reads the markers up to the frame header; a header of zeros where there is none.
JpegHeader jpeg_header(const std::vector<std::uint8_t>& stream);

/// Whether an RLE frame (PS3.5 annex G) unpacks to exactly so many pixels of so many bytes: DCMTK's decoder
/// leaves what is missing as it was.
bool is_whole_rle(const std::vector<std::uint8_t>& stream, std::uint64_t pixels, int bytes_per_pixel);

}  // namespace canalrule::dicom
