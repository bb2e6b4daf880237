#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <opencv2/core.hpp>

#include <canalrule/film/film.hpp>

namespace canalrule::dicom {

/// What a written film says of itself.
struct FilmToWrite {
  cv::Mat grey;                     ///< CV_16UC1, values below 2^bits_stored
  int bits_stored = 16;             ///< 8 to 16
  Radiopaque radiopaque = Radiopaque::bright;
  /// Pixel Intensity Relationship: LOG, LIN, or DISP for display and none, a word that this class of
  /// objects doesn't define.
  std::optional<Response> response;
  std::optional<Spacing> spacing;   ///< valid objects have it at the sensor: imager or calibrated
  std::string tooth;                ///< ISO 3950, may be empty
  std::uint64_t seed = 0;           ///< unique identifiers are derived from it: same seed, same bytes
  std::string description;          ///< Series Description
};

/// A Digital Intra-Oral X-Ray Image for presentation (PS3.3 A.28), Explicit VR Little Endian, of an
/// invented patient, as the bytes of a Part 10 file.
std::vector<std::uint8_t> encode_dicom(const FilmToWrite& film);

}  // namespace canalrule::dicom
