#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include <canalrule/film/film.hpp>

namespace canalrule {

/// A larger film is refused: over 100 megapixels no periapical film is meant.
inline constexpr std::int64_t largest_film_pixels = 100'000'000;

/// Opens a PNG or DICOM film; the format is told from the content, not from the name. Never writes to
/// the file. Refuses (Refusal, unusable_input, naming the file) anything else: another format, a
/// truncated or empty file, true colour, several frames, a header that promises more than the file
/// holds, more than largest_film_pixels. Up to `threads` work on it side by side, for the same film.
Film open_film(const std::filesystem::path& file, std::size_t threads = 1);

/// Whether a file begins as a PNG or DICOM film does. Refuses (unusable_input) what is no file, is empty or can't be
/// read.
bool is_film(const std::filesystem::path& file);

/// A 16-bit (CV_16UC1) or 8-bit (CV_8UC1) grey image as the bytes of a PNG file; the same image gives
/// the same bytes.
std::vector<std::uint8_t> encode_png(const cv::Mat& grey);

}  // namespace canalrule
