#include "png_picture.hpp"

#include <algorithm>
#include <csetjmp>
#include <cstdio>
#include <cstring>

#include <png.h>

#include <canalrule/base/fault.hpp>

// libpng leaves a failed call by longjmp. Every call that can fail therefore runs inside guarded(), in a
// step whose own frame holds nothing that needs a destructor; what is owned is owned outside of it.

namespace canalrule {

namespace {

struct Source {
  const std::uint8_t* bytes = nullptr;
  std::size_t left = 0;
};

struct Message {
  char text[160] = "";
};

extern "C" {

static void give_bytes(png_structp png, png_bytep out, png_size_t count) {
  auto* source = static_cast<Source*>(png_get_io_ptr(png));
  if (count > source->left) png_error(png, "the file ends too early");
  std::memcpy(out, source->bytes, count);
  source->bytes += count;
  source->left -= count;
}

[[noreturn]] static void keep_error(png_structp png, png_const_charp text) {
  auto* message = static_cast<Message*>(png_get_error_ptr(png));
  std::snprintf(message->text, sizeof message->text, "%s", text);
  png_longjmp(png, 1);
}

/// Warnings are about what isn't read here: colour profiles, texts, odd ancillary chunks.
static void pass_over_warning(png_structp, png_const_charp) {}

}  // extern "C"

class Decoder {
 public:
  explicit Decoder(std::span<const std::uint8_t> bytes) : source_{bytes.data(), bytes.size()} {
    png_ = png_create_read_struct(PNG_LIBPNG_VER_STRING, &message_, keep_error, pass_over_warning);
    ensure(png_ != nullptr, "libpng starts");
    info_ = png_create_info_struct(png_);
    ensure(info_ != nullptr, "libpng has memory to start");
  }
  ~Decoder() { png_destroy_read_struct(&png_, &info_, nullptr); }
  Decoder(const Decoder&) = delete;
  Decoder& operator=(const Decoder&) = delete;

  bool read_header() {
    return guarded([this] {
      png_set_read_fn(png_, &source_, give_bytes);
      png_set_crc_action(png_, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
      // What isn't needed isn't unpacked either: a small chunk can hold a very long text or profile.
      static constexpr png_byte unread[] = "iCCP\0iTXt\0zTXt\0tEXt\0sPLT\0eXIf\0hIST";
      png_set_keep_unknown_chunks(png_, PNG_HANDLE_CHUNK_NEVER, unread, static_cast<int>(sizeof unread / 5));
      png_read_info(png_, info_);
      bit_depth_ = png_get_bit_depth(png_, info_);
      png_set_packing(png_);
      passes_ = png_set_interlace_handling(png_);
      png_read_update_info(png_, info_);
    });
  }

  PngPicture picture() const {
    PngPicture picture;
    picture.columns = png_get_image_width(png_, info_);
    picture.rows = png_get_image_height(png_, info_);
    picture.bit_depth = bit_depth_;
    picture.channels = png_get_channels(png_, info_);
    picture.row_bytes = png_get_rowbytes(png_, info_);
    picture.has_palette = png_get_color_type(png_, info_) == PNG_COLOR_TYPE_PALETTE;
    read_palette(picture);
    read_significant_bits(picture);
    read_transparency(picture);
    png_uint_32 x_per_unit = 0, y_per_unit = 0;
    int unit = 0;
    if (png_get_pHYs(png_, info_, &x_per_unit, &y_per_unit, &unit) != 0 && x_per_unit > 0 && y_per_unit > 0)
      picture.row_to_column_aspect = static_cast<double>(x_per_unit) / static_cast<double>(y_per_unit);
    return picture;
  }

  bool read_samples(PngPicture& picture) {
    std::uint8_t* const samples = picture.samples.get();
    const std::size_t row_bytes = picture.row_bytes;
    const std::uint32_t rows = picture.rows;
    return guarded([=, this] {
      for (int pass = 0; pass < passes_; ++pass)
        for (std::uint32_t row = 0; row < rows; ++row) png_read_row(png_, samples + row * row_bytes, nullptr);
      png_read_end(png_, nullptr);
    });
  }

  std::string problem() const { return message_.text; }

 private:
  template <class Step>
  bool guarded(Step step) {
    if (setjmp(png_jmpbuf(png_)) != 0) return false;
    step();
    return true;
  }

  void read_palette(PngPicture& picture) const {
    png_colorp colours = nullptr;
    if (!picture.has_palette || png_get_PLTE(png_, info_, &colours, &picture.palette_size) == 0) return;
    picture.palette_size = std::min(picture.palette_size, 256);
    for (int i = 0; i < picture.palette_size; ++i)
      picture.palette[static_cast<std::size_t>(i)] = {colours[i].red, colours[i].green, colours[i].blue};
  }

  void read_significant_bits(PngPicture& picture) const {
    picture.significant_bits = picture.has_palette ? 8 : picture.bit_depth;
    png_color_8p bits = nullptr;
    if (png_get_sBIT(png_, info_, &bits) == 0) return;
    const int significant = picture.channels <= 2 && !picture.has_palette ? bits->gray : bits->red;
    if (significant > 0 && significant <= picture.significant_bits) picture.significant_bits = significant;
  }

  void read_transparency(PngPicture& picture) const {
    picture.palette_alpha.fill(255);
    png_bytep alpha = nullptr;
    int count = 0;
    png_color_16p colour = nullptr;
    if (png_get_tRNS(png_, info_, &alpha, &count, &colour) == 0) return;
    if (picture.has_palette && alpha != nullptr)
      std::copy_n(alpha, std::min(count, 256), picture.palette_alpha.begin());
    else if (!picture.has_palette && colour != nullptr && picture.channels == 1)
      picture.transparent = {colour->gray, colour->gray, colour->gray};
    else if (!picture.has_palette && colour != nullptr && picture.channels == 3)
      picture.transparent = {colour->red, colour->green, colour->blue};
  }

  Message message_;
  Source source_;
  png_structp png_ = nullptr;
  png_infop info_ = nullptr;
  int passes_ = 1;
  int bit_depth_ = 8;
};

}  // namespace

std::variant<PngPicture, PngProblem> decode_png(std::span<const std::uint8_t> bytes) {
  Decoder decoder(bytes);
  if (!decoder.read_header()) return PngProblem{decoder.problem()};
  PngPicture picture = decoder.picture();
  picture.samples = std::make_unique_for_overwrite<std::uint8_t[]>(picture.row_bytes * picture.rows);
  if (!decoder.read_samples(picture)) return PngProblem{decoder.problem()};
  return picture;
}

}  // namespace canalrule
