#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// The report for a terminal of 80 columns; one canal fits 24 lines, two fit 40. UTF-8.
std::string text_report(const Result& result);

/// The film with what was found on it, and each canal unrolled beside it, as an SVG document that
/// refers to nothing outside itself.
std::string svg_picture(const Film& film, const Result& result);

/// The same picture as the bytes of a PNG file.
std::vector<std::uint8_t> png_picture(const Film& film, const Result& result);

/// Whether what tells a case from others is written: the film's and the reading's file names and sums, the reader.
enum class Identity { left_out, shown };

/// The result for paper, as the bytes of a PDF file: the picture, drawn as vectors on a sheet that lies across;
/// then A4 sheets with every figure and its uncertainty (k = 2), verdicts with their criteria, what can't be
/// assessed and why, warnings, cautions. Same film, result and choice, same bytes.
std::string report_pdf(const Film& film, const Result& result, Identity identity = Identity::left_out);

}  // namespace canalrule
