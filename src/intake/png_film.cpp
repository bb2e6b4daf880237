#include "png_film.hpp"

#include <array>
#include <optional>
#include <utility>
#include <variant>

#include <canalrule/base/refusal.hpp>

#include "png_header.hpp"
#include "png_picture.hpp"

namespace canalrule {

namespace {

constexpr const char* copy_again = "copy it again from its source";

[[noreturn]] void refuse(const std::string& file, const std::string& what, const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, file, "", what, remedy);
}

std::string size_text(std::uint32_t columns, std::uint32_t rows) {
  return std::to_string(columns) + " x " + std::to_string(rows) + " pixels";
}

void check_header(std::span<const std::uint8_t> bytes, std::int64_t largest_pixels, const std::string& file) {
  const std::optional<PngHeader> header = png_header(bytes);
  if (!header) refuse(file, "the PNG file is cut off or damaged in its header", copy_again);
  const std::uint64_t pixels = static_cast<std::uint64_t>(header->columns) * header->rows;
  if (pixels > static_cast<std::uint64_t>(largest_pixels))
    refuse(file, size_text(header->columns, header->rows),
           "at most " + std::to_string(largest_pixels / 1'000'000) + " million are read");
  if (fewest_png_bytes(*header) > bytes.size())
    refuse(file,
           "the header promises " + size_text(header->columns, header->rows) + ", but the file has only " +
               std::to_string(bytes.size()) + " bytes",
           copy_again);
}

template <class Sample>
unsigned sample_at(const std::uint8_t* row, std::size_t index) {
  if constexpr (sizeof(Sample) == 1) return row[index];
  return static_cast<unsigned>(row[2 * index]) << 8U | row[2 * index + 1];
}

/// The planes of a film being filled; the mask is made when the first unusable pixel is met.
class Planes {
 public:
  Planes(int rows, int columns) : grey_(rows, columns, CV_32FC1) {}

  float* grey(int row) { return grey_.ptr<float>(row); }
  void mark_unusable(int row, int column) {
    if (unusable_.empty()) unusable_ = cv::Mat::zeros(grey_.size(), CV_8UC1);
    unusable_.at<std::uint8_t>(row, column) = 255;
  }
  void give_to(Film& film) {
    film.grey = std::move(grey_);
    film.unusable = std::move(unusable_);
  }

 private:
  cv::Mat grey_;
  cv::Mat unusable_;
};

[[noreturn]] void refuse_colour(const std::string& file, int column, int row,
                                const std::array<unsigned, 3>& colour) {
  refuse(file,
         "this is a colour picture: pixel (" + std::to_string(column) + ", " + std::to_string(row) +
             ") has red " + std::to_string(colour[0]) + ", green " + std::to_string(colour[1]) + ", blue " +
             std::to_string(colour[2]),
         "a radiograph is grey; export it as a grey PNG or as DICOM");
}

template <class Sample>
void read_grey(const PngPicture& picture, Planes& planes) {
  const int columns = static_cast<int>(picture.columns);
  for (int row = 0; row < static_cast<int>(picture.rows); ++row) {
    const std::uint8_t* in = picture.samples.get() + static_cast<std::size_t>(row) * picture.row_bytes;
    float* out = planes.grey(row);
    for (int column = 0; column < columns; ++column)
      out[column] = static_cast<float>(sample_at<Sample>(in, static_cast<std::size_t>(column)));
    if (!picture.transparent) continue;
    for (int column = 0; column < columns; ++column)
      if (sample_at<Sample>(in, static_cast<std::size_t>(column)) == (*picture.transparent)[0])
        planes.mark_unusable(row, column);
  }
}

template <class Sample>
void read_grey_alpha(const PngPicture& picture, Planes& planes) {
  for (int row = 0; row < static_cast<int>(picture.rows); ++row) {
    const std::uint8_t* in = picture.samples.get() + static_cast<std::size_t>(row) * picture.row_bytes;
    float* out = planes.grey(row);
    for (int column = 0; column < static_cast<int>(picture.columns); ++column) {
      const std::size_t at = 2 * static_cast<std::size_t>(column);
      out[column] = static_cast<float>(sample_at<Sample>(in, at));
      if (sample_at<Sample>(in, at + 1) == 0) planes.mark_unusable(row, column);
    }
  }
}

template <class Sample>
void read_colour(const PngPicture& picture, Planes& planes, const std::string& file) {
  const auto channels = static_cast<std::size_t>(picture.channels);
  for (int row = 0; row < static_cast<int>(picture.rows); ++row) {
    const std::uint8_t* in = picture.samples.get() + static_cast<std::size_t>(row) * picture.row_bytes;
    float* out = planes.grey(row);
    for (int column = 0; column < static_cast<int>(picture.columns); ++column) {
      const std::size_t at = channels * static_cast<std::size_t>(column);
      const std::array colour{sample_at<Sample>(in, at), sample_at<Sample>(in, at + 1),
                              sample_at<Sample>(in, at + 2)};
      out[column] = static_cast<float>(colour[0]);
      const bool hidden = channels == 4 ? sample_at<Sample>(in, at + 3) == 0
                                        : picture.transparent && colour[0] == (*picture.transparent)[0] &&
                                              colour[1] == (*picture.transparent)[1] &&
                                              colour[2] == (*picture.transparent)[2];
      if (hidden)
        planes.mark_unusable(row, column);
      else if (colour[0] != colour[1] || colour[1] != colour[2])
        refuse_colour(file, column, row, colour);
    }
  }
}

void read_palette(const PngPicture& picture, Planes& planes, const std::string& file) {
  for (int row = 0; row < static_cast<int>(picture.rows); ++row) {
    const std::uint8_t* in = picture.samples.get() + static_cast<std::size_t>(row) * picture.row_bytes;
    float* out = planes.grey(row);
    for (int column = 0; column < static_cast<int>(picture.columns); ++column) {
      const std::size_t index = in[column];
      if (index >= static_cast<std::size_t>(picture.palette_size))
        refuse(file, "the PNG file is damaged: a pixel names an entry that its palette doesn't have",
               copy_again);
      const auto& [red, green, blue] = picture.palette[index];
      out[column] = static_cast<float>(red);
      if (picture.palette_alpha[index] == 0)
        planes.mark_unusable(row, column);
      else if (red != green || green != blue)
        refuse_colour(file, column, row, {red, green, blue});
    }
  }
}

template <class Sample>
void read_samples(const PngPicture& picture, Planes& planes, const std::string& file) {
  switch (picture.channels) {
    case 1: return read_grey<Sample>(picture, planes);
    case 2: return read_grey_alpha<Sample>(picture, planes);
    default: return read_colour<Sample>(picture, planes, file);
  }
}

std::string format_name(const PngPicture& picture) {
  if (picture.has_palette) return "PNG, grey palette";
  const std::string depth = std::to_string(picture.bit_depth) + " bit ";
  switch (picture.channels) {
    case 1: return "PNG, " + depth + "grey";
    case 2: return "PNG, " + depth + "grey with alpha";
    case 3: return "PNG, " + depth + "colour that is grey";
    default: return "PNG, " + depth + "colour that is grey, with alpha";
  }
}

/// A pixel's height over its width outside these is no film's (chosen here, as for DICOM).
constexpr double largest_aspect = 4.0;

void read_pixel_shape(const PngPicture& picture, Film& film) {
  const double aspect = picture.row_to_column_aspect;
  if (aspect <= largest_aspect && aspect >= 1.0 / largest_aspect)
    film.row_to_column_aspect = aspect;
  else
    film.notes.push_back({"ignored-spacing",
                          "The PNG file says that its pixels are more than four times as long as wide; that "
                          "was left out."});
}

}  // namespace

Film read_png(std::span<const std::uint8_t> bytes, std::int64_t largest_pixels, const std::string& file) {
  check_header(bytes, largest_pixels, file);
  std::variant<PngPicture, PngProblem> decoded = decode_png(bytes);
  if (const auto* problem = std::get_if<PngProblem>(&decoded))
    refuse(file, "the PNG file is cut off or damaged (" + problem->text + ")", copy_again);
  const PngPicture& picture = std::get<PngPicture>(decoded);

  Planes planes(static_cast<int>(picture.rows), static_cast<int>(picture.columns));
  if (picture.has_palette)
    read_palette(picture, planes, file);
  else if (picture.bit_depth == 16)
    read_samples<std::uint16_t>(picture, planes, file);
  else
    read_samples<std::uint8_t>(picture, planes, file);

  Film film;
  planes.give_to(film);
  const int sample_bits = picture.has_palette ? 8 : picture.bit_depth;
  film.highest_grey = static_cast<double>((1U << static_cast<unsigned>(sample_bits)) - 1U);
  film.bits_stored = picture.significant_bits;
  read_pixel_shape(picture, film);
  film.format = format_name(picture);
  return film;
}

}  // namespace canalrule
