#pragma once

#include <cstdint>
#include <filesystem>
#include <span>

#include <canalrule/film/film.hpp>

namespace canalrule::dicom {

/// Whether the bytes begin as a DICOM file does: "DICM" after the 128-byte preamble, or a plausible
/// data set without preamble.
bool looks_like_dicom(std::span<const std::uint8_t> head);

/// Reads one 2-D grey frame: 6 to 16 bits stored, signed or not, MONOCHROME1 or 2, every transfer
/// syntax that DEVELOPERS.md lists. Fills all of Film but sha256. Refusals and `threads` as open_film.
Film read_dicom(const std::filesystem::path& file, std::int64_t largest_pixels, std::size_t threads = 1);

}  // namespace canalrule::dicom
