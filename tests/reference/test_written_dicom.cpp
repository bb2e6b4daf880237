// Films that the program writes, held against dciodvfy of dicom3tools: an independent reading of PS3.3's
// modules for Digital Intra-Oral X-Ray Images (A.28).
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

#include <doctest/doctest.h>

#include <canalrule/dicom/write_film.hpp>

#include "temporary_folder.hpp"

namespace {

using canalrule::SpacingKind;
using canalrule::dicom::FilmToWrite;

FilmToWrite film() {
  FilmToWrite film;
  film.grey.create(40, 30, CV_16UC1);
  film.grey.setTo(1000);
  film.bits_stored = 12;
  film.response = canalrule::Response::log;
  film.spacing.emplace();
  film.spacing->row_mm = film.spacing->column_mm = 0.02;
  film.spacing->kind = SpacingKind::imager;
  film.tooth = "36";
  film.description = "Invented film";
  return film;
}

/// What dciodvfy says of the film.
std::string verdict(const FilmToWrite& written) {
  const canalrule_test::TemporaryFolder folder;
  const std::string file = folder.write("film.dcm", canalrule::dicom::encode_dicom(written)).string();
  const std::string answer = (folder.path() / "answer.txt").string();
  (void)std::system(("dciodvfy '" + file + "' > '" + answer + "' 2>&1").c_str());
  std::ifstream in(answer);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void check_without_error(const FilmToWrite& written) {
  const std::string said = verdict(written);
  CAPTURE(said);
  CHECK(said.find("IntraoralImageForPresentation") != std::string::npos);
  CHECK(said.find("Error") == std::string::npos);
}

}  // namespace

TEST_CASE("written films are valid for every tooth, response, grey and spacing at the sensor") {
  for (const char* tooth : {"", "11", "23", "36", "48", "55", "74"}) {
    FilmToWrite written = film();
    written.tooth = tooth;
    check_without_error(written);
  }
  FilmToWrite dark = film();
  dark.radiopaque = canalrule::Radiopaque::dark;
  dark.response = canalrule::Response::linear;
  dark.bits_stored = 16;
  check_without_error(dark);
  FilmToWrite calibrated = film();
  calibrated.spacing->kind = SpacingKind::calibrated;
  calibrated.spacing->calibration_type = "FIDUCIAL";
  calibrated.spacing->calibration_description = "Wire of known length";
  calibrated.spacing->magnification = 1.05;
  check_without_error(calibrated);
}

TEST_CASE("what the class has no word for is the only thing found wrong") {
  // The class knows LIN and LOG only, and wants the spacing at the sensor.
  FilmToWrite display = film();
  display.response.reset();
  const std::string of_display = verdict(display);
  CHECK(of_display.find("<DISP>") != std::string::npos);
  FilmToWrite without_spacing = film();
  without_spacing.spacing.reset();
  const std::string of_spacing = verdict(without_spacing);
  CHECK(of_spacing.find("ImagerPixelSpacing") != std::string::npos);
  for (const std::string& said : {of_display, of_spacing}) {
    CAPTURE(said);
    const std::size_t first = said.find("Error");
    CHECK(said.find("Error", first + 1) == std::string::npos);
  }
}
