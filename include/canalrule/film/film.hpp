#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <opencv2/core.hpp>

#include <canalrule/base/grey.hpp>

namespace canalrule {

/// What a film says of its own scale.
enum class SpacingKind {
  calibrated,       ///< DICOM Pixel Spacing with a Calibration Type, or differing from the imager's
  patient,          ///< DICOM Pixel Spacing alone: what it refers to can't be known (PS3.3 10.7)
  imager,           ///< Imager Pixel Spacing: at the detector, magnification unknown
  nominal_scanned   ///< Nominal Scanned Pixel Spacing of a digitised film, magnification unknown
};

struct Spacing {
  double row_mm = 0.0;     ///< between the centres of rows: the vertical distance
  double column_mm = 0.0;  ///< between the centres of columns: the horizontal distance
  SpacingKind kind = SpacingKind::patient;
  std::string calibration_type;         ///< "GEOMETRY", "FIDUCIAL" or empty (0028,0A02)
  std::string calibration_description;  ///< (0028,0A04)
  std::optional<double> magnification;  ///< Estimated Radiographic Magnification Factor (0018,1114)
  double contradicted_by_mm = 0.0;      ///< how far the file's spacing at the detector is from what this one allows
};

/// A warning or a fact about the film, for the result.
struct FilmNote {
  std::string code;  ///< lower case with hyphens, e.g. "lossy-compression"
  std::string text;  ///< one sentence for a person
};

/// A film in memory: the stored values, untouched, and what the file says of them.
struct Film {
  /// CV_32FC1, rows x columns: the stored grey values, exact, after the DICOM Modality rescale where
  /// there is one. Never an 8-bit rendering. A pixel (column c, row r) has its centre at
  /// (c + 0.5, r + 0.5) in Point's coordinates.
  cv::Mat grey;
  /// CV_8UC1 of the same size, 255 where a pixel carries no film (Pixel Padding, transparent); empty
  /// where every pixel does.
  cv::Mat unusable;
  double lowest_grey = 0.0;   ///< the least value that the stored bits can hold, rescaled
  double highest_grey = 0.0;  ///< the greatest
  int bits_stored = 0;

  std::optional<Spacing> spacing;
  double row_to_column_aspect = 1.0;  ///< height of a pixel over its width
  std::optional<Radiopaque> radiopaque;
  std::string radiopaque_source;  ///< e.g. "DICOM Photometric Interpretation MONOCHROME1"
  std::optional<Response> response;
  std::string response_source;  ///< e.g. "DICOM Pixel Intensity Relationship LIN"

  std::string format;   ///< e.g. "PNG, 16 bit grey" or "DICOM, JPEG-LS lossless, 12 bit"
  std::string sha256;   ///< of the file's bytes, hexadecimal
  std::vector<FilmNote> notes;
};

}  // namespace canalrule
