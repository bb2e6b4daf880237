#pragma once

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dctk.h>

#include <canalrule/film/film.hpp>

namespace canalrule::dicom {

/// Fills spacing and row_to_column_aspect from Pixel Spacing, Imager Pixel Spacing, Nominal Scanned Pixel
/// Spacing and Pixel Aspect Ratio (PS3.3 10.7 and C.7.6.3.1.7; row\column, the vertical first). A value
/// that can't be meant is left out, with the note "ignored-spacing".
void read_scale(DcmItem& dataset, Film& film);

/// Fills radiopaque and response with their sources from Photometric Interpretation, Pixel Intensity
/// Relationship and its Sign (PS3.3 C.8.11.3.1.2). Where the Sign contradicts the Photometric
/// Interpretation the latter holds, with the note "intensity-sign": it says how the film is looked at,
/// and the Sign is often left as the sensor had it after the grey was turned over.
void read_grey_meaning(DcmItem& dataset, const std::string& photometric, Film& film);

}  // namespace canalrule::dicom
