#include <canalrule/base/side_by_side.hpp>
#include <canalrule/dicom/read_dicom.hpp>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dcpixel.h>
#include <dcmtk/dcmdata/dcpixseq.h>
#include <dcmtk/dcmdata/dcpxitem.h>
#include <dcmtk/dcmdata/dctk.h>

#include "attributes.hpp"
#include "before_parsing.hpp"
#include "packed_frame.hpp"
#include "pixels.hpp"
#include "scale.hpp"
#include "toolkit.hpp"
#include "transfer_syntax.hpp"

namespace canalrule::dicom {

namespace {

constexpr const char* copy_again = "copy it again from its source";

/// What may stand in a data set beside the pixels, and still be a film's (chosen here).
constexpr std::uint64_t most_bytes_beside_pixels = 64U << 20U;

void check_size(const PixelLayout& layout, std::int64_t largest_pixels, const std::string& file) {
  if (layout.pixels() > static_cast<std::uint64_t>(largest_pixels))
    refuse(file, "", std::to_string(layout.columns) + " x " + std::to_string(layout.rows) + " pixels",
           "at most " + std::to_string(largest_pixels / 1'000'000) + " million are read");
}

[[noreturn]] void refuse_promise(const PixelLayout& layout, std::uint64_t held, const std::string& file) {
  refuse(file, attribute_name(DCM_PixelData),
         "the header promises " + std::to_string(layout.columns) + " x " + std::to_string(layout.rows) +
             " pixels of " + std::to_string(layout.bits_allocated) + " bits, but only " +
             std::to_string(held) + " bytes of pixel data are there",
         copy_again);
}

/// All fragments of a packed frame, one behind the other.
std::vector<std::uint8_t> packed_frame(DcmPixelData& pixels, E_TransferSyntax syntax,
                                       const std::string& file) {
  std::vector<std::uint8_t> stream;
  DcmPixelSequence* fragments = nullptr;
  if (pixels.getEncapsulatedRepresentation(syntax, nullptr, fragments).bad() || fragments == nullptr)
    refuse(file, attribute_name(DCM_PixelData), "the packed pixel data can't be found", copy_again);
  for (unsigned long i = 1; i < fragments->card(); ++i) {  // item 0 is the offset table
    DcmPixelItem* item = nullptr;
    Uint8* bytes = nullptr;
    if (fragments->getItem(item, i).good() && item != nullptr && item->getUint8Array(bytes).good() &&
        bytes != nullptr)
      stream.insert(stream.end(), bytes, bytes + item->getLength());
  }
  return stream;
}

void check_packed(DcmPixelData& pixels, const TransferSyntax& syntax, const PixelLayout& layout,
                  const std::string& file) {
  const std::vector<std::uint8_t> stream = packed_frame(pixels, syntax.id, file);
  const int bytes_per_pixel = layout.bits_allocated / 8;
  if (stream.size() <
      fewest_bytes(syntax.packing, layout.pixels(), static_cast<std::uint64_t>(bytes_per_pixel)))
    refuse_promise(layout, stream.size(), file);
  if (syntax.packing == Packing::rle) {
    if (!is_whole_rle(stream, layout.pixels(), bytes_per_pixel))
      refuse(file, attribute_name(DCM_PixelData),
             "the RLE data does not unpack to the " + std::to_string(layout.columns) + " x " +
                 std::to_string(layout.rows) + " pixels of the header",
             copy_again);
    return;
  }
  const JpegHeader header = jpeg_header(stream);
  if (header.rows != layout.rows || header.columns != layout.columns || header.components != 1)
    refuse(file, attribute_name(DCM_PixelData),
           "the packed picture has " + std::to_string(header.columns) + " x " + std::to_string(header.rows) +
               " pixels in " + std::to_string(header.components) + " components, the header says " +
               std::to_string(layout.columns) + " x " + std::to_string(layout.rows) + " in 1",
           copy_again);
  if (!header.complete)
    refuse(file, attribute_name(DCM_PixelData), "the packed picture is cut off before its end", copy_again);
}

/// Refuses a header that promises more than the file holds, before anything is allocated for it.
void check_promise(DcmElement& pixel_data, const TransferSyntax& syntax, const PixelLayout& layout,
                   const std::string& file) {
  if (syntax.packing == Packing::plain) {
    if (pixel_data.getLength() < layout.bytes()) refuse_promise(layout, pixel_data.getLength(), file);
    return;
  }
  auto* pixels = dynamic_cast<DcmPixelData*>(&pixel_data);
  if (pixels == nullptr)
    refuse(file, attribute_name(DCM_PixelData), "the packed pixel data can't be found", copy_again);
  check_packed(*pixels, syntax, layout, file);
}

void decode(DcmDataset& dataset, const TransferSyntax& syntax, const std::string& file) {
  const int damage_before = damage_reports();
  const OFCondition decoded = dataset.chooseRepresentation(EXS_LittleEndianExplicit, nullptr);
  const std::string data = "the " + std::string(syntax.name) + " data";
  if (decoded.bad())
    refuse(file, attribute_name(DCM_PixelData), data + " can't be decoded (" + decoded.text() + ")",
           copy_again);
  if (damage_reports() != damage_before)
    refuse(file, attribute_name(DCM_PixelData), data + " is damaged", copy_again);
}

DcmElement& pixel_data_of(DcmItem& dataset, const std::string& file) {
  DcmElement* element = nullptr;
  if (dataset.findAndGetElement(DCM_PixelData, element).bad() || element == nullptr)
    refuse(file, attribute_name(DCM_PixelData), "is missing", "a DICOM image of one film is read");
  return *element;
}

void note_loss(DcmItem& dataset, const TransferSyntax& syntax, Film& film) {
  if (!syntax.loses && text(dataset, DCM_LossyImageCompression) != "01") return;
  film.notes.push_back(
      {"lossy-compression",
       "The film was compressed with loss, so its grey values are not those of the sensor."});
}

std::string format_name(const TransferSyntax& syntax, const PixelLayout& layout) {
  return "DICOM, " + std::string(syntax.name) + ", " + std::to_string(layout.bits_stored) + " bit" +
         (layout.is_signed ? " signed" : "");
}

/// A data set without preamble begins with a low group: file meta information, or identification.
bool begins_like_data_set(std::span<const std::uint8_t> head) {
  if (head.size() < 12) return false;
  const bool little = (head[0] == 0x02 || head[0] == 0x08) && head[1] == 0 && head[3] == 0;
  const bool big = head[0] == 0 && head[1] == 0x08 && head[2] == 0;
  if (!little && !big) return false;
  const auto capital = [](std::uint8_t c) { return c >= 'A' && c <= 'Z'; };
  const bool explicit_representation = capital(head[4]) && capital(head[5]);
  const bool implicit_length = little && head[6] == 0 && head[7] == 0;
  return explicit_representation || implicit_length;
}

}  // namespace

bool looks_like_dicom(std::span<const std::uint8_t> head) {
  constexpr std::array<std::uint8_t, 4> prefix{'D', 'I', 'C', 'M'};
  if (head.size() >= 132 && std::equal(prefix.begin(), prefix.end(), head.begin() + 128)) return true;
  return begins_like_data_set(head);
}

Film read_dicom(const std::filesystem::path& path, std::int64_t largest_pixels, std::size_t threads) {
  const std::string file = path.string();
  side_by_side(2, threads, [&](std::size_t i) {
    if (i == 0)
      prepare_toolkit(file);
    else
      check_before_parsing(path, static_cast<std::uint64_t>(largest_pixels) * 2 + most_bytes_beside_pixels);
  });

  DcmFileFormat format;
  const OFCondition loaded = format.loadFile(OFFilename(file.c_str()));
  if (loaded.bad())
    refuse(file, "", "the DICOM file is cut off or damaged (" + std::string(loaded.text()) + ")", copy_again);
  DcmDataset& dataset = *format.getDataset();

  const TransferSyntax syntax = transfer_syntax(dataset.getOriginalXfer(), file);
  const PixelLayout promised = pixel_layout(dataset, file);
  check_size(promised, largest_pixels, file);
  check_promise(pixel_data_of(dataset, file), syntax, promised, file);
  decode(dataset, syntax, file);
  const PixelLayout layout = pixel_layout(dataset, file);  // a decoder may allocate other bits than the file
  DcmElement& plain = pixel_data_of(dataset, file);
  if (plain.getLength() < layout.bytes()) refuse_promise(layout, plain.getLength(), file);

  Film film;
  unpack(plain, layout, modality_rescale(dataset, file), pixel_padding(dataset, layout), threads, film, file);
  read_scale(dataset, film);
  read_grey_meaning(dataset, layout.photometric, film);
  note_loss(dataset, syntax, film);
  film.format = format_name(syntax, layout);
  return film;
}

}  // namespace canalrule::dicom
