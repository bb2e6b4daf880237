#include <canalrule/intake/open_film.hpp>

#include <array>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <canalrule/base/refusal.hpp>
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

Film read_film(const std::filesystem::path& path, std::vector<std::uint8_t> bytes) {
  if (looks_like_png(bytes)) return read_png(bytes, largest_film_pixels, path.string());
  if (!dicom::looks_like_dicom(bytes))
    throw Refusal(RefusalKind::unusable_input, path.string(), "", what_it_is(bytes),
                  "films are read from PNG and DICOM");
  bytes = {};  // DICOM is read from the file itself
  return dicom::read_dicom(path, largest_film_pixels);
}

}  // namespace

Film open_film(const std::filesystem::path& path) {
  std::vector<std::uint8_t> bytes = read_whole(path, largest_file_bytes);
  const std::string sha256 = sha256_hex(bytes);
  Film film = read_film(path, std::move(bytes));
  if (!film.unusable.empty() && cv::countNonZero(film.unusable) == film.grey.rows * film.grey.cols)
    throw Refusal(RefusalKind::unusable_input, path.string(), "", "every pixel is transparent or padding",
                  "a film shows something");
  film.sha256 = sha256;
  return film;
}

}  // namespace canalrule
