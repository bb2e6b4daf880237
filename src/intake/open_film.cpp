#include <canalrule/intake/open_film.hpp>

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/side_by_side.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/dicom/read_dicom.hpp>

#include "png_film.hpp"
#include "png_header.hpp"

namespace canalrule {

namespace {

/// 100 megapixels of four 16-bit channels, uncompressed, with room to spare.
constexpr std::uint64_t largest_file_bytes = 1U << 30U;

struct KnownFormat {
  std::string_view magic;
  std::string_view name;
};

/// What people hand over in place of a film, by how it begins.
constexpr std::array known_formats{
    KnownFormat{"\xFF\xD8\xFF", "a JPEG picture"},
    KnownFormat{std::string_view("II*\0", 4), "a TIFF picture"},
    KnownFormat{std::string_view("MM\0*", 4), "a TIFF picture"},
    KnownFormat{"GIF8", "a GIF picture"},
    KnownFormat{"BM", "a BMP picture"},
    KnownFormat{std::string_view("\0\0\0\x0CjP  ", 8), "a JPEG 2000 picture"},
    KnownFormat{"%PDF", "a PDF document"},
    KnownFormat{"PK\x03\x04", "a ZIP archive"},
    KnownFormat{"{", "a text that begins like JSON"},
};

std::string what_it_is(std::span<const std::uint8_t> bytes) {
  const std::string_view begin(reinterpret_cast<const char*>(bytes.data()), bytes.size());
  for (const KnownFormat& format : known_formats)
    if (begin.starts_with(format.magic)) return "this is " + std::string(format.name);
  return "this is neither a PNG nor a DICOM file";
}

/// As many bytes as tell a format.
constexpr std::size_t start_bytes = 4096;

}  // namespace

bool is_film(const std::filesystem::path& file) {
  const std::vector<std::uint8_t> start = read_start(file, std::numeric_limits<std::uint64_t>::max(), start_bytes);
  return looks_like_png(start) || dicom::looks_like_dicom(start);
}

Film open_film(const std::filesystem::path& path, std::size_t threads) {
  const std::vector<std::uint8_t> start = read_start(path, largest_file_bytes, start_bytes);
  Film film;
  std::string sha256;
  if (looks_like_png(start)) {
    const std::vector<std::uint8_t> bytes = read_whole(path, largest_file_bytes);
    side_by_side(2, threads, [&](std::size_t i) {
      if (i == 0)
        film = read_png(bytes, largest_film_pixels, path.string());
      else
        sha256 = sha256_hex(bytes);
    });
  } else if (dicom::looks_like_dicom(start)) {
    side_by_side(2, threads, [&](std::size_t i) {
      if (i == 0)
        film = dicom::read_dicom(path, largest_film_pixels, threads);
      else
        sha256 = sha256_hex_of(path, largest_file_bytes);
    });
  } else {
    throw Refusal(RefusalKind::unusable_input, path.string(), "", what_it_is(start),
                  "films are read from PNG and DICOM");
  }
  film.sha256 = std::move(sha256);
  if (!film.unusable.empty() && cv::countNonZero(film.unusable) == film.grey.rows * film.grey.cols)
    throw Refusal(RefusalKind::unusable_input, path.string(), "", "every pixel is transparent or padding",
                  "a film shows something");
  return film;
}

}  // namespace canalrule
