#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dctk.h>
#include <opencv2/core.hpp>

#include <canalrule/film/film.hpp>

namespace canalrule::dicom {

/// How the stored values lie in the pixel data (PS3.3 C.7.6.3).
struct PixelLayout {
  int rows = 0;
  int columns = 0;
  int bits_allocated = 0;  ///< 8 or 16
  int bits_stored = 0;     ///< 6 to bits_allocated
  int high_bit = 0;
  bool is_signed = false;
  Radiopaque radiopaque = Radiopaque::bright;
  std::string photometric;

  std::uint64_t pixels() const;
  std::uint64_t bytes() const;
};

/// Reads and checks the Image Pixel attributes: one grey frame of a layout that can be measured.
/// Refuses everything else by its attribute.
PixelLayout pixel_layout(DcmItem& dataset, const std::string& file);

/// Stored values to grey values: grey = slope * stored + intercept (PS3.3 C.11.1).
struct Rescale {
  double slope = 1.0;
  double intercept = 0.0;
};

/// Refuses a rescale that isn't a number, a slope of 0, and a Modality LUT in its place: no
/// radiographic object of this kind has one (PS3.3 C.8.11.3.1.2 wants the identity).
Rescale modality_rescale(DcmItem& dataset, const std::string& file);

/// The stored values that mean "no film here" (PS3.3 C.7.5.1.1.2), both ends included.
struct PaddingRange {
  int lowest = 0;
  int highest = 0;
};

std::optional<PaddingRange> pixel_padding(DcmItem& dataset, const PixelLayout& layout);

/// Fills grey, unusable, lowest_grey, highest_grey and bits_stored from decoded pixel data, which holds
/// at least layout.bytes() bytes. Bits outside the stored ones (overlays of old) are masked off. Up to `threads` work
/// side by side.
void unpack(DcmElement& pixel_data, const PixelLayout& layout, const Rescale& rescale,
            const std::optional<PaddingRange>& padding, std::size_t threads, Film& film, const std::string& file);

}  // namespace canalrule::dicom
