#include <canalrule/dicom/write_film.hpp>

#include <array>
#include <charconv>
#include <cstring>
#include <limits>

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dcostrmb.h>
#include <dcmtk/dcmdata/dctk.h>

#include <canalrule/base/fault.hpp>
#include <canalrule/base/whole_file.hpp>

#include "toolkit.hpp"

namespace canalrule::dicom {

namespace {

/// The day on which every written film says it was taken; invented, like the patient.
constexpr const char* invented_date = "20200101";
constexpr const char* invented_time = "120000";

/// A SNOMED CT code, as DICOM writes it.
struct Code {
  const char* value;
  const char* meaning;
};

/// Writes attributes; what DCMTK can't take is our own fault, since no input names attributes.
class Writer {
 public:
  explicit Writer(DcmItem& item) : item_(item) {}

  void text(const DcmTagKey& tag, const std::string& value) {
    ensure(item_.putAndInsertString(tag, value.c_str()).good(), "an attribute takes its text");
  }
  void count(const DcmTagKey& tag, int value) {
    ensure(item_.putAndInsertUint16(tag, static_cast<Uint16>(value)).good(), "an attribute takes its number");
  }
  void empty(const DcmTagKey& tag) {
    ensure(item_.insertEmptyElement(tag).good(), "an attribute can be empty");
  }
  /// A sequence of one item that holds a code.
  void code(const DcmTagKey& sequence, const Code& code) {
    Writer inner = first_item(sequence);
    inner.text(DCM_CodeValue, code.value);
    inner.text(DCM_CodingSchemeDesignator, "SCT");
    inner.text(DCM_CodeMeaning, code.meaning);
  }
  void code_inside(const DcmTagKey& outer, const DcmTagKey& sequence, const Code& code) {
    first_item(outer).code(sequence, code);
  }

 private:
  Writer first_item(const DcmTagKey& sequence) {
    DcmItem* inner = nullptr;
    ensure(item_.findOrCreateSequenceItem(sequence, inner, 0).good() && inner != nullptr,
           "a sequence takes an item");
    return Writer(*inner);
  }

  DcmItem& item_;
};

/// A decimal string (PS3.5 6.2: DS, at most 16 characters).
std::string decimal(double value) {
  std::array<char, 32> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 9);
  return std::string(text.data(), written.ptr);
}

std::string pair(double row, double column) { return decimal(row) + "\\" + decimal(column); }

/// A unique identifier under 2.25, made of a UUID (PS3.5 B.2): 122 bits of a hash, as a decimal number.
std::string unique_identifier(const std::string& what_it_names) {
  const std::string digest = sha256_hex(
      std::span(reinterpret_cast<const std::uint8_t*>(what_it_names.data()), what_it_names.size()));
  std::string decimal_digits = "0";  // least significant first
  for (std::size_t i = 0; i < 30; ++i) {
    int carry = digest[i] <= '9' ? digest[i] - '0' : digest[i] - 'a' + 10;
    for (char& digit : decimal_digits) {
      const int value = (digit - '0') * 16 + carry;
      digit = static_cast<char>('0' + value % 10);
      carry = value / 10;
    }
    for (; carry > 0; carry /= 10) decimal_digits += static_cast<char>('0' + carry % 10);
  }
  return "2.25." + std::string(decimal_digits.rbegin(), decimal_digits.rend());
}

/// What the film's identifiers are made of: its seed, its words and its pixels, so that two films never
/// share one.
std::string identity(const FilmToWrite& film) {
  const cv::Mat whole = film.grey.isContinuous() ? film.grey : film.grey.clone();
  return std::to_string(film.seed) + "/" + film.description + "/" + film.tooth + "/" +
         sha256_hex(std::span(whole.ptr<std::uint8_t>(0), whole.total() * whole.elemSize()));
}

int quadrant(const std::string& tooth) {
  return tooth.empty() || tooth[0] < '1' || tooth[0] > '8' ? 0 : (tooth[0] - '1') % 4 + 1;
}

void write_patient_and_study(Writer& to, const FilmToWrite& film, const std::string& identity_text) {
  to.text(DCM_PatientName, "Invented^Film");
  to.text(DCM_PatientID, "INVENTED");
  to.empty(DCM_PatientBirthDate);
  to.text(DCM_PatientSex, "O");
  to.text(DCM_StudyInstanceUID, unique_identifier("study/" + identity_text));
  to.text(DCM_StudyDate, invented_date);
  to.text(DCM_StudyTime, invented_time);
  to.text(DCM_StudyID, "1");
  to.empty(DCM_AccessionNumber);
  to.empty(DCM_ReferringPhysicianName);
  to.text(DCM_SeriesInstanceUID, unique_identifier("series/" + identity_text));
  to.text(DCM_SeriesNumber, "1");
  to.text(DCM_SeriesDescription, film.description.substr(0, 64));
  to.text(DCM_Modality, "IO");
  to.text(DCM_PresentationIntentType, "FOR PRESENTATION");
  to.text(DCM_Manufacturer, "canalrule");
  to.text(DCM_SOPClassUID, UID_DigitalIntraOralXRayImageStorageForPresentation);
  to.text(DCM_SOPInstanceUID, unique_identifier("instance/" + identity_text));
  to.text(DCM_InstanceNumber, "1");
  to.text(DCM_ContentDate, invented_date);
  to.text(DCM_ContentTime, invented_time);
  to.text(DCM_AcquisitionDate, invented_date);
  to.text(DCM_AcquisitionTime, invented_time);
  to.empty(DCM_DetectorType);
}

/// PS3.16 CID 4016.
Code jaw(int quarter) {
  if (quarter == 0) return {"661005", "Jaw region"};
  return quarter <= 2 ? Code{"70925003", "Maxilla"} : Code{"91609006", "Mandible"};
}

/// PS3.16 CID 4017, by the second figure of ISO 3950; the deciduous molars (quadrants 5 to 8) are teeth 4
/// and 5.
std::optional<Code> region(const std::string& tooth) {
  constexpr std::array<Code, 8> regions{{{"699453001", "Central incisor region"},
                                         {"699511000", "Lateral incisor region"},
                                         {"699510004", "Canine region"},
                                         {"699509009", "First premolar region"},
                                         {"699508001", "Second premolar region"},
                                         {"699507006", "First molar region"},
                                         {"699505003", "Second molar region"},
                                         {"699503005", "Third molar region"}}};
  if (tooth.size() != 2 || tooth[1] < '1' || tooth[1] > '8') return std::nullopt;
  const int place = tooth[1] - '1';
  const bool deciduous_molar = tooth[0] >= '5' && (place == 3 || place == 4);
  return regions[static_cast<std::size_t>(deciduous_molar ? place + 2 : place)];
}

/// PS3.3 C.8.11.2 and C.8.11.9. The film is seen from the cheek, so its rows run forwards on the right.
void write_anatomy(Writer& to, const std::string& tooth) {
  const int quarter = quadrant(tooth);
  const bool right = quarter == 1 || quarter == 4;
  to.text(DCM_ImageLaterality, quarter == 0 ? "B" : right ? "R" : "L");
  to.text(DCM_PatientOrientation, quarter == 0 ? "L\\F" : right ? "A\\F" : "P\\F");
  to.code(DCM_AnatomicRegionSequence, jaw(quarter));
  if (const std::optional<Code> modifier = region(tooth))
    to.code_inside(DCM_AnatomicRegionSequence, DCM_AnatomicRegionModifierSequence, *modifier);
  else
    to.code(DCM_PrimaryAnatomicStructureSequence, {"38199008", "Tooth"});
  if (!tooth.empty()) to.text(DCM_ImageComments, "Tooth " + tooth + " (ISO 3950)");
  to.text(DCM_PositionerType, "NONE");
}

void write_spacing(Writer& to, const Spacing& spacing) {
  const std::string size = pair(spacing.row_mm, spacing.column_mm);
  const double enlarged = spacing.magnification.value_or(1.0);
  switch (spacing.kind) {
    case SpacingKind::imager: to.text(DCM_ImagerPixelSpacing, size); break;
    case SpacingKind::patient: to.text(DCM_PixelSpacing, size); break;
    case SpacingKind::nominal_scanned: to.text(DCM_NominalScannedPixelSpacing, size); break;
    case SpacingKind::calibrated:
      to.text(DCM_PixelSpacing, size);
      to.text(DCM_ImagerPixelSpacing, pair(spacing.row_mm * enlarged, spacing.column_mm * enlarged));
      if (!spacing.calibration_type.empty()) {
        to.text(DCM_PixelSpacingCalibrationType, spacing.calibration_type);
        to.text(DCM_PixelSpacingCalibrationDescription, spacing.calibration_description.substr(0, 64));
      }
      break;
  }
  if (spacing.magnification)
    to.text(DCM_EstimatedRadiographicMagnificationFactor, decimal(*spacing.magnification));
}

const char* relationship(const std::optional<Response>& response) {
  if (response == Response::log) return "LOG";
  if (response == Response::linear) return "LIN";
  return "DISP";
}

/// PS3.3 C.8.11.3: values as stored, shown as they are.
void write_grey(Writer& to, const FilmToWrite& film) {
  const bool bright = film.radiopaque == Radiopaque::bright;
  to.text(DCM_ImageType, "ORIGINAL\\PRIMARY\\");
  to.count(DCM_SamplesPerPixel, 1);
  to.text(DCM_PhotometricInterpretation, bright ? "MONOCHROME2" : "MONOCHROME1");
  to.count(DCM_Rows, film.grey.rows);
  to.count(DCM_Columns, film.grey.cols);
  to.count(DCM_BitsAllocated, 16);
  to.count(DCM_BitsStored, film.bits_stored);
  to.count(DCM_HighBit, film.bits_stored - 1);
  to.count(DCM_PixelRepresentation, 0);
  to.text(DCM_PixelIntensityRelationship, relationship(film.response));
  to.text(DCM_RescaleIntercept, "0");
  to.text(DCM_RescaleSlope, "1");
  to.text(DCM_RescaleType, "US");
  to.text(DCM_PresentationLUTShape, bright ? "IDENTITY" : "INVERSE");
  to.text(DCM_LossyImageCompression, "00");
  to.text(DCM_BurnedInAnnotation, "NO");
  to.empty(DCM_AcquisitionContextSequence);
  const double levels = static_cast<double>(1U << static_cast<unsigned>(film.bits_stored));
  to.text(DCM_WindowCenter, decimal(levels / 2));
  to.text(DCM_WindowWidth, decimal(levels));
}

void write_sign(DcmItem& dataset, Radiopaque radiopaque) {
  const Sint16 sign = radiopaque == Radiopaque::bright ? -1 : 1;
  ensure(dataset.putAndInsertSint16(DCM_PixelIntensityRelationshipSign, sign).good(),
         "an attribute takes its sign");
}

void write_pixels(DcmItem& dataset, const FilmToWrite& film) {
  const cv::Mat whole = film.grey.isContinuous() ? film.grey : film.grey.clone();
  ensure(dataset
             .putAndInsertUint16Array(DCM_PixelData, whole.ptr<Uint16>(0),
                                      static_cast<unsigned long>(whole.total()))
             .good(),
         "pixel data takes the film");
}

std::vector<std::uint8_t> part_10(DcmFileFormat& format) {
  constexpr E_TransferSyntax syntax = EXS_LittleEndianExplicit;
  DcmDataset& dataset = *format.getDataset();
  constexpr std::size_t meta_information = 4096;
  std::vector<std::uint8_t> buffer(dataset.calcElementLength(syntax, EET_ExplicitLength) + meta_information);
  DcmOutputBufferStream stream(buffer.data(), static_cast<offile_off_t>(buffer.size()));
  format.transferInit();
  ensure(format.write(stream, syntax, EET_ExplicitLength, nullptr, EGL_withoutGL, EPD_withoutPadding).good(),
         "a DICOM file is made in memory");
  format.transferEnd();
  void* written = nullptr;
  offile_off_t count = 0;
  stream.flushBuffer(written, count);
  buffer.resize(static_cast<std::size_t>(count));
  return buffer;
}

}  // namespace

std::vector<std::uint8_t> encode_dicom(const FilmToWrite& film) {
  ensure(film.grey.type() == CV_16UC1 && !film.grey.empty(), "a film to write is 16 bit grey");
  ensure(film.grey.rows <= std::numeric_limits<Uint16>::max() &&
             film.grey.cols <= std::numeric_limits<Uint16>::max(),
         "a film to write has at most 65535 rows and columns");
  ensure(film.bits_stored >= 8 && film.bits_stored <= 16, "a film to write stores 8 to 16 bits");
  prepare_toolkit("(film to be written)");

  DcmFileFormat format;
  DcmDataset& dataset = *format.getDataset();
  Writer to(dataset);
  write_patient_and_study(to, film, identity(film));
  write_anatomy(to, film.tooth);
  if (film.spacing) write_spacing(to, *film.spacing);
  write_grey(to, film);
  write_sign(dataset, film.radiopaque);
  write_pixels(dataset, film);
  return part_10(format);
}

}  // namespace canalrule::dicom
