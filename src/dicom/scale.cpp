#include "scale.hpp"

#include <algorithm>
#include <canalrule/base/plain.hpp>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "attributes.hpp"

namespace canalrule::dicom {

namespace {

/// Distances between pixels outside these are no periapical film's (chosen here: sensors have 0.015 to
/// 0.04 mm and phosphor plates to 0.064 mm, Farman & Farman 2005 and common practice).
constexpr double smallest_spacing_mm = 0.001;
constexpr double largest_spacing_mm = 1.0;
/// Two spacings closer than this are the same one written twice (DS has up to 16 digits).
constexpr double same_spacing = 1e-4;
/// Magnifications outside these are not an intra-oral exposure's (chosen here).
constexpr double smallest_magnification = 1.0;
constexpr double largest_magnification = 3.0;
/// What lies before a detector shows enlarged, by up to a sixth in the mouth (45 mm before it at 300 mm from
/// the source), so that Pixel Spacing is not more than that of the detector, but for what a calibration is off. Chosen
/// here; tests/reference/test_dicom_facts.py.
constexpr double most_over_detector = 1.02, least_over_detector = 0.85;
/// A pixel's height over its width outside these is not a film's (chosen here).
constexpr double largest_aspect = 4.0;

struct PixelSize {
  double row = 0.0;     ///< the vertical distance between rows
  double column = 0.0;  ///< the horizontal distance between columns
};

/// As a person reads it, down and across.
std::string in_mm(const PixelSize& size) {
  return plain(size.row, 4) + " mm down and " + plain(size.column, 4) + " mm across";
}

void note_ignored(Film& film, const DcmTagKey& tag, const std::vector<std::string>& values,
                  const std::string& why) {
  film.notes.push_back({"ignored-spacing",
                        attribute_name(tag) + " says " + quoted(values) + ", " + why + "; it was left out."});
}

std::optional<PixelSize> pixel_size(DcmItem& dataset, const DcmTagKey& tag, double smallest, double largest,
                                    Film& film) {
  const std::vector<std::string> values = texts(dataset, tag);
  if (values.empty()) return std::nullopt;
  if (values.size() == 2) {
    const std::optional<double> row = number(values[0]);
    const std::optional<double> column = number(values[1]);
    const auto plausible = [&](double v) { return v >= smallest && v <= largest; };
    if (row && column && plausible(*row) && plausible(*column)) return PixelSize{*row, *column};
  }
  note_ignored(film, tag, values, "which can't be the size of a periapical film's pixels");
  return std::nullopt;
}

std::optional<PixelSize> distance(DcmItem& dataset, const DcmTagKey& tag, Film& film) {
  return pixel_size(dataset, tag, smallest_spacing_mm, largest_spacing_mm, film);
}

bool same(const PixelSize& a, const PixelSize& b) {
  return std::abs(a.row - b.row) <= same_spacing * b.row &&
         std::abs(a.column - b.column) <= same_spacing * b.column;
}

std::optional<double> magnification(DcmItem& dataset, Film& film) {
  const std::vector<std::string> values = texts(dataset, DCM_EstimatedRadiographicMagnificationFactor);
  if (values.empty()) return std::nullopt;
  const std::optional<double> factor = number(values.front());
  if (factor && *factor >= smallest_magnification && *factor <= largest_magnification) return factor;
  note_ignored(film, DCM_EstimatedRadiographicMagnificationFactor, values,
               "which can't be the magnification of an intra-oral film");
  return std::nullopt;
}

SpacingKind kind_of_pixel_spacing(const PixelSize& in_patient, const std::optional<PixelSize>& at_imager,
                                  const std::optional<PixelSize>& scanned,
                                  const std::string& calibration_type) {
  if (!calibration_type.empty()) return SpacingKind::calibrated;
  if (at_imager) return same(in_patient, *at_imager) ? SpacingKind::imager : SpacingKind::calibrated;
  if (scanned) return same(in_patient, *scanned) ? SpacingKind::nominal_scanned : SpacingKind::calibrated;
  return SpacingKind::patient;
}

/// Where the spacing in the patient can't be, by that at the detector (PS3.3 10.7: the latter is never altered).
double contradicted_by(const PixelSize& in_patient, const PixelSize& at_imager, Film& film) {
  double by = 0.0;
  for (const auto& [own, other] : {std::pair(in_patient.row, at_imager.row), {in_patient.column, at_imager.column}})
    if (own > most_over_detector * other || own < least_over_detector * other) by = std::max(by, std::abs(own - other));
  if (by > 0.0)
    film.notes.push_back(
        {"spacings-contradict",
         attribute_name(DCM_PixelSpacing) + " says " + in_mm(in_patient) + ", " +
             attribute_name(DCM_ImagerPixelSpacing) + " " + in_mm(at_imager) +
             ". What lies before a detector shows larger than it is, by a fifth at most: one of them is wrong. The "
             "first was taken, and their difference for its uncertainty."});
  return by;
}

std::optional<Spacing> spacing(DcmItem& dataset, Film& film) {
  const std::optional<PixelSize> in_patient = distance(dataset, DCM_PixelSpacing, film);
  const std::optional<PixelSize> at_imager = distance(dataset, DCM_ImagerPixelSpacing, film);
  const std::optional<PixelSize> scanned = distance(dataset, DCM_NominalScannedPixelSpacing, film);
  Spacing spacing;
  if (in_patient) {
    spacing.calibration_type = text(dataset, DCM_PixelSpacingCalibrationType);
    spacing.calibration_description = text(dataset, DCM_PixelSpacingCalibrationDescription);
    spacing.kind = kind_of_pixel_spacing(*in_patient, at_imager, scanned, spacing.calibration_type);
  } else if (at_imager) {
    spacing.kind = SpacingKind::imager;
  } else if (scanned) {
    spacing.kind = SpacingKind::nominal_scanned;
  } else {
    return std::nullopt;
  }
  const PixelSize size = in_patient ? *in_patient : at_imager ? *at_imager : *scanned;
  spacing.row_mm = size.row;
  spacing.column_mm = size.column;
  spacing.magnification = magnification(dataset, film);
  if (in_patient && at_imager) spacing.contradicted_by_mm = contradicted_by(*in_patient, *at_imager, film);
  return spacing;
}

}  // namespace

void read_scale(DcmItem& dataset, Film& film) {
  film.spacing = spacing(dataset, film);
  const std::optional<PixelSize> ratio = pixel_size(dataset, DCM_PixelAspectRatio, 1e-6, 1e6, film);
  if (film.spacing) {
    film.row_to_column_aspect = film.spacing->row_mm / film.spacing->column_mm;
  } else if (ratio) {
    film.row_to_column_aspect = ratio->row / ratio->column;
  }
  const bool contradicts =
      film.spacing && ratio && std::abs(ratio->row / ratio->column / film.row_to_column_aspect - 1.0) > 0.01;
  if (contradicts)
    note_ignored(film, DCM_PixelAspectRatio, texts(dataset, DCM_PixelAspectRatio),
                 "which contradicts the film's spacing");
  if (film.row_to_column_aspect > largest_aspect || film.row_to_column_aspect < 1.0 / largest_aspect) {
    film.notes.push_back({"ignored-spacing",
                          "The film's pixels would be more than four times as long as wide; "
                          "its spacing and Pixel Aspect Ratio were left out."});
    film.spacing.reset();
    film.row_to_column_aspect = 1.0;
  }
}

void read_grey_meaning(DcmItem& dataset, const std::string& photometric, Film& film) {
  film.radiopaque = photometric == "MONOCHROME1" ? Radiopaque::dark : Radiopaque::bright;
  film.radiopaque_source = "DICOM Photometric Interpretation " + photometric;

  const std::string relationship = text(dataset, DCM_PixelIntensityRelationship);
  if (relationship == "LIN") film.response = Response::linear;
  if (relationship == "LOG") film.response = Response::log;
  if (relationship == "DISP") film.response = Response::display;
  if (!film.response) return;
  film.response_source = "DICOM Pixel Intensity Relationship " + relationship;

  const std::optional<int> sign = sixteen_bits(dataset, DCM_PixelIntensityRelationshipSign);
  if (!sign || film.response == Response::display) return;
  constexpr int minus_one = 0xFFFF;
  const bool bright_by_sign = *sign == minus_one;  // higher values: less X-ray reached the sensor
  const bool dark_by_sign = *sign == 1;
  if ((bright_by_sign && film.radiopaque == Radiopaque::dark) ||
      (dark_by_sign && film.radiopaque == Radiopaque::bright))
    film.notes.push_back(
        {"intensity-sign", "The film's Pixel Intensity Relationship Sign says that radiopaque is " +
                               std::string(bright_by_sign ? "the high" : "the low") +
                               " end of the grey, its Photometric Interpretation " + photometric +
                               " says the other; the latter was taken."});
}

}  // namespace canalrule::dicom
