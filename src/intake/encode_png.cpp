#include <csetjmp>
#include <new>

#include <png.h>

#include <canalrule/base/fault.hpp>
#include <canalrule/intake/open_film.hpp>

// As in png_picture.cpp: libpng leaves a failed call by longjmp, so that what owns memory stands outside
// the function that calls it.

namespace canalrule {

namespace {

extern "C" {

static void take_bytes(png_structp png, png_bytep bytes, png_size_t count) {
  auto* out = static_cast<std::vector<std::uint8_t>*>(png_get_io_ptr(png));
  bool room = true;
  try {
    out->insert(out->end(), bytes, bytes + count);
  } catch (const std::bad_alloc&) {
    room = false;
  }
  if (!room) png_error(png, "no memory");
}

static void nothing_to_flush(png_structp) {}

}  // extern "C"

bool write_rows(png_structp png, png_infop info, const cv::Mat& grey, std::vector<std::uint8_t>& out) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  const bool deep = grey.type() == CV_16UC1;
  png_set_write_fn(png, &out, take_bytes, nothing_to_flush);
  png_set_compression_level(png, 9);
  png_set_filter(png, PNG_FILTER_TYPE_BASE, deep ? PNG_FILTER_UP : PNG_ALL_FILTERS);
  png_set_IHDR(png, info, static_cast<png_uint_32>(grey.cols), static_cast<png_uint_32>(grey.rows),
               deep ? 16 : 8, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_write_info(png, info);
  if (deep) {
    const std::uint16_t one = 1;
    if (*reinterpret_cast<const std::uint8_t*>(&one) == 1) png_set_swap(png);
  }
  for (int row = 0; row < grey.rows; ++row) png_write_row(png, grey.ptr<std::uint8_t>(row));
  png_write_end(png, nullptr);
  return true;
}

}  // namespace

std::vector<std::uint8_t> encode_png(const cv::Mat& grey) {
  ensure(!grey.empty() && (grey.type() == CV_16UC1 || grey.type() == CV_8UC1),
         "a PNG is made of 8 or 16 bit grey");
  std::vector<std::uint8_t> out;
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  ensure(png != nullptr, "libpng starts");
  png_infop info = png_create_info_struct(png);
  ensure(info != nullptr, "libpng has memory to start");
  const bool written = write_rows(png, info, grey, out);
  png_destroy_write_struct(&png, &info);
  ensure(written, "a PNG is made in memory");
  return out;
}

}  // namespace canalrule
