#include "pixels.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <canalrule/base/side_by_side.hpp>

#include "attributes.hpp"
#include "toolkit.hpp"

namespace canalrule::dicom {

namespace {

int needed(DcmItem& dataset, const DcmTagKey& tag, const std::string& file) {
  const std::optional<int> value = unsigned_short(dataset, tag);
  if (!value) refuse(file, attribute_name(tag), "is missing", "a DICOM image holds it");
  return *value;
}

void check_one_grey_frame(DcmItem& dataset, const std::string& photometric, const std::string& file) {
  const int samples = needed(dataset, DCM_SamplesPerPixel, file);
  if (samples != 1)
    refuse(file, attribute_name(DCM_SamplesPerPixel),
           std::to_string(samples) + " samples per pixel: this is a colour image",
           "a radiograph has one grey sample per pixel; use the film as it was acquired");
  const std::vector<std::string> frames = texts(dataset, DCM_NumberOfFrames);
  if (!frames.empty() && number(frames.front()) != 1.0)
    refuse(file, attribute_name(DCM_NumberOfFrames), quoted(frames) + " frames",
           "one film with one frame is measured");
  if (photometric != "MONOCHROME1" && photometric != "MONOCHROME2")
    refuse(file, attribute_name(DCM_PhotometricInterpretation),
           photometric.empty() ? "is missing" : "\"" + photometric + "\" is not grey",
           "MONOCHROME1 or MONOCHROME2 is read");
}

/// Takes the stored bits out of the allocated ones.
class StoredValue {
 public:
  explicit StoredValue(const PixelLayout& layout)
      : shift_(static_cast<unsigned>(layout.high_bit + 1 - layout.bits_stored)),
        mask_((1U << static_cast<unsigned>(layout.bits_stored)) - 1U),
        sign_(layout.is_signed ? 1U << static_cast<unsigned>(layout.bits_stored - 1) : 0U) {}

  int operator()(unsigned allocated) const {
    const unsigned bits = (allocated >> shift_) & mask_;
    return static_cast<int>(bits ^ sign_) - static_cast<int>(sign_);
  }

 private:
  unsigned shift_;
  unsigned mask_;
  unsigned sign_;
};

template <class Word>
cv::Mat grey_plane(const Word* words, const PixelLayout& layout, const Rescale& rescale, std::size_t threads) {
  cv::Mat grey(layout.rows, layout.columns, CV_32FC1);
  const StoredValue stored(layout);
  const bool identity = rescale.slope == 1.0 && rescale.intercept == 0.0;
  bands_side_by_side(layout.rows, std::max<std::size_t>(1, threads), threads, [&](const RowBand& band) {
    for (int row = band.from; row < band.to; ++row) {
      const Word* in = words + static_cast<std::ptrdiff_t>(row) * layout.columns;
      float* out = grey.ptr<float>(row);
      if (identity)
        for (int column = 0; column < layout.columns; ++column) out[column] = static_cast<float>(stored(in[column]));
      else
        for (int column = 0; column < layout.columns; ++column)
          out[column] = static_cast<float>(rescale.slope * stored(in[column]) + rescale.intercept);
    }
  });
  return grey;
}

/// 255 where the stored value is padding; an empty plane where none is.
template <class Word>
cv::Mat padding_plane(const Word* words, const PixelLayout& layout, const PaddingRange& padding) {
  cv::Mat unusable(layout.rows, layout.columns, CV_8UC1);
  const StoredValue stored(layout);
  bool any = false;
  for (int row = 0; row < layout.rows; ++row, words += layout.columns) {
    std::uint8_t* out = unusable.ptr<std::uint8_t>(row);
    for (int column = 0; column < layout.columns; ++column) {
      const int value = stored(words[column]);
      const bool padded = value >= padding.lowest && value <= padding.highest;
      out[column] = padded ? 255 : 0;
      any = any || padded;
    }
  }
  return any ? unusable : cv::Mat();
}

template <class Word>
void fill(const Word* words, const PixelLayout& layout, const Rescale& rescale,
          const std::optional<PaddingRange>& padding, std::size_t threads, Film& film) {
  film.grey = grey_plane(words, layout, rescale, threads);
  if (padding) film.unusable = padding_plane(words, layout, *padding);
}

[[noreturn]] void refuse_unreadable(const std::string& file) {
  refuse(file, attribute_name(DCM_PixelData), "the pixel data can't be read",
         "copy the file again from its source");
}

}  // namespace

std::uint64_t PixelLayout::pixels() const {
  return static_cast<std::uint64_t>(rows) * static_cast<std::uint64_t>(columns);
}

std::uint64_t PixelLayout::bytes() const { return pixels() * static_cast<std::uint64_t>(bits_allocated / 8); }

PixelLayout pixel_layout(DcmItem& dataset, const std::string& file) {
  PixelLayout layout;
  layout.photometric = text(dataset, DCM_PhotometricInterpretation);
  check_one_grey_frame(dataset, layout.photometric, file);
  layout.radiopaque = layout.photometric == "MONOCHROME1" ? Radiopaque::dark : Radiopaque::bright;
  layout.rows = needed(dataset, DCM_Rows, file);
  layout.columns = needed(dataset, DCM_Columns, file);
  if (layout.rows == 0 || layout.columns == 0)
    refuse(file, attribute_name(layout.rows == 0 ? DCM_Rows : DCM_Columns), "is 0", "a film has pixels");
  layout.bits_allocated = needed(dataset, DCM_BitsAllocated, file);
  if (layout.bits_allocated != 8 && layout.bits_allocated != 16)
    refuse(file, attribute_name(DCM_BitsAllocated), std::to_string(layout.bits_allocated) + " bits per pixel",
           "8 or 16 are read");
  layout.bits_stored = needed(dataset, DCM_BitsStored, file);
  if (layout.bits_stored < 6 || layout.bits_stored > layout.bits_allocated)
    refuse(file, attribute_name(DCM_BitsStored),
           std::to_string(layout.bits_stored) + " bits stored of " + std::to_string(layout.bits_allocated),
           "6 to 16, and no more than are allocated, are read (PS3.3 C.8.11.3)");
  layout.high_bit = needed(dataset, DCM_HighBit, file);
  if (layout.high_bit < layout.bits_stored - 1 || layout.high_bit >= layout.bits_allocated)
    refuse(file, attribute_name(DCM_HighBit),
           std::to_string(layout.high_bit) + " does not fit " + std::to_string(layout.bits_stored) +
               " bits stored of " + std::to_string(layout.bits_allocated),
           "it lies between the bits stored less one and the bits allocated less one");
  const int representation = needed(dataset, DCM_PixelRepresentation, file);
  if (representation > 1)
    refuse(file, attribute_name(DCM_PixelRepresentation), std::to_string(representation) + " has no meaning",
           "0 (unsigned) or 1 (signed) is read");
  layout.is_signed = representation == 1;
  return layout;
}

Rescale modality_rescale(DcmItem& dataset, const std::string& file) {
  DcmSequenceOfItems* table = nullptr;
  if (dataset.findAndGetSequence(DCM_ModalityLUTSequence, table).good() && table != nullptr &&
      table->card() > 0)
    refuse(file, attribute_name(DCM_ModalityLUTSequence),
           "the film's grey is defined by a table, which is not read",
           "export it with its stored values, or with Rescale Slope and Intercept");
  Rescale rescale;
  const auto read = [&](const DcmTagKey& tag, double absent) {
    const std::vector<std::string> values = texts(dataset, tag);
    if (values.empty()) return absent;
    const std::optional<double> value = number(values.front());
    if (!value)
      refuse(file, attribute_name(tag), quoted(values) + " is not a number", "a decimal number stands here");
    return *value;
  };
  rescale.slope = read(DCM_RescaleSlope, 1.0);
  rescale.intercept = read(DCM_RescaleIntercept, 0.0);
  if (rescale.slope == 0.0)
    refuse(file, attribute_name(DCM_RescaleSlope), "is 0, which leaves no picture", "a slope differs from 0");
  constexpr double largest = 1e9;  // chosen here: grey stays far inside a float
  if (std::max(std::abs(rescale.slope), std::abs(rescale.intercept)) > largest ||
      std::abs(rescale.slope) < 1.0 / largest)
    refuse(file, attribute_name(DCM_RescaleSlope), "slope and intercept are out of all bounds",
           "magnitudes from 1e-9 to 1e9 are read");
  return rescale;
}

std::optional<PaddingRange> pixel_padding(DcmItem& dataset, const PixelLayout& layout) {
  const auto read = [&](const DcmTagKey& tag) {
    std::optional<int> value = sixteen_bits(dataset, tag);
    if (value && layout.is_signed) value = static_cast<std::int16_t>(static_cast<std::uint16_t>(*value));
    return value;
  };
  const std::optional<int> value = read(DCM_PixelPaddingValue);
  if (!value) return std::nullopt;
  const int limit = read(DCM_PixelPaddingRangeLimit).value_or(*value);
  return PaddingRange{std::min(*value, limit), std::max(*value, limit)};
}

void unpack(DcmElement& pixel_data, const PixelLayout& layout, const Rescale& rescale,
            const std::optional<PaddingRange>& padding, std::size_t threads, Film& film, const std::string& file) {
  if (layout.bits_allocated == 8) {
    Uint8* bytes = nullptr;
    if (pixel_data.getUint8Array(bytes).bad() || bytes == nullptr) refuse_unreadable(file);
    fill(bytes, layout, rescale, padding, threads, film);
  } else {
    Uint16* words = nullptr;
    if (pixel_data.getUint16Array(words).bad() || words == nullptr) refuse_unreadable(file);
    fill(words, layout, rescale, padding, threads, film);
  }
  const int levels = 1 << layout.bits_stored;
  const int lowest = layout.is_signed ? -levels / 2 : 0;
  const double one_end = rescale.slope * lowest + rescale.intercept;
  const double other_end = rescale.slope * (lowest + levels - 1) + rescale.intercept;
  film.lowest_grey = std::min(one_end, other_end);
  film.highest_grey = std::max(one_end, other_end);
  film.bits_stored = layout.bits_stored;
}

}  // namespace canalrule::dicom
