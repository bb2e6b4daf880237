#include <canalrule/dicom/read_dicom.hpp>
#include <canalrule/dicom/write_film.hpp>

#include <array>
#include <string>
#include <thread>
#include <vector>

#include <doctest/doctest.h>

#include "temporary_folder.hpp"

using canalrule::Film;
using canalrule::Radiopaque;
using canalrule::Response;
using canalrule::Spacing;
using canalrule::SpacingKind;
using canalrule::dicom::encode_dicom;
using canalrule::dicom::FilmToWrite;
using canalrule::dicom::read_dicom;
using canalrule_test::TemporaryFolder;

namespace {

constexpr std::int64_t many_pixels = 1'000'000;

FilmToWrite film_of_bits(int bits) {
  FilmToWrite film;
  film.bits_stored = bits;
  film.grey.create(33, 21, CV_16UC1);
  cv::RNG random(static_cast<std::uint64_t>(bits));
  random.fill(film.grey, cv::RNG::UNIFORM, 0, 1 << bits);
  film.description = "Invented film";
  film.tooth = "46";
  film.seed = 5;
  return film;
}

Film written_and_read(const FilmToWrite& film) {
  const TemporaryFolder folder;
  return read_dicom(folder.write("film.dcm", encode_dicom(film)), many_pixels);
}

}  // namespace

TEST_CASE("values and bits come back as they were written") {
  for (const int bits : {8, 10, 12, 14, 16}) {
    CAPTURE(bits);
    const FilmToWrite film = film_of_bits(bits);
    const Film read = written_and_read(film);
    cv::Mat wanted;
    film.grey.convertTo(wanted, CV_32F);
    REQUIRE(read.grey.size() == wanted.size());
    CHECK(cv::countNonZero(read.grey != wanted) == 0);
    CHECK(read.bits_stored == bits);
    CHECK(read.lowest_grey == 0.0);
    CHECK(read.highest_grey == (1 << bits) - 1);
    CHECK(read.format == "DICOM, explicit little endian, " + std::to_string(bits) + " bit");
    CHECK(read.unusable.empty());
    CHECK(read.notes.empty());
  }
}

TEST_CASE("films are read on several threads at once") {
  const TemporaryFolder folder;
  const FilmToWrite film = film_of_bits(12);
  const auto file = folder.write("film.dcm", encode_dicom(film));
  std::array<double, 4> sums{};
  std::vector<std::thread> threads;
  for (double& sum : sums)
    threads.emplace_back([&sum, &file] {
      for (int i = 0; i < 10; ++i) sum += cv::sum(read_dicom(file, many_pixels).grey)[0];
    });
  for (std::thread& thread : threads) thread.join();
  for (const double sum : sums) CHECK(sum == 10.0 * cv::sum(film.grey)[0]);
}

TEST_CASE("what the grey means comes back") {
  FilmToWrite film = film_of_bits(12);
  for (const Radiopaque radiopaque : {Radiopaque::bright, Radiopaque::dark})
    for (const Response response : {Response::log, Response::linear, Response::display}) {
      film.radiopaque = radiopaque;
      film.response = response;
      const Film read = written_and_read(film);
      CHECK(read.radiopaque == radiopaque);
      CHECK(read.response == response);
      CHECK(read.notes.empty());
    }
  CHECK(written_and_read(film).radiopaque_source == "DICOM Photometric Interpretation MONOCHROME1");
}

TEST_CASE("every kind of spacing comes back, and none stays none") {
  FilmToWrite film = film_of_bits(12);
  CHECK_FALSE(written_and_read(film).spacing.has_value());
  for (const SpacingKind kind :
       {SpacingKind::calibrated, SpacingKind::patient, SpacingKind::imager, SpacingKind::nominal_scanned}) {
    Spacing spacing;
    spacing.row_mm = 0.0312;
    spacing.column_mm = 0.025;
    spacing.kind = kind;
    spacing.magnification = 1.06;
    if (kind == SpacingKind::calibrated) {
      spacing.calibration_type = "FIDUCIAL";
      spacing.calibration_description = "Wire of known length";
    }
    film.spacing = spacing;
    const Film read = written_and_read(film);
    REQUIRE(read.spacing.has_value());
    CHECK(read.spacing->kind == kind);
    CHECK(read.spacing->row_mm == 0.0312);
    CHECK(read.spacing->column_mm == 0.025);
    CHECK(read.spacing->magnification == 1.06);
    CHECK(read.spacing->calibration_type == spacing.calibration_type);
    CHECK(read.spacing->calibration_description == spacing.calibration_description);
    CHECK(read.row_to_column_aspect == doctest::Approx(1.248));
  }
}

TEST_CASE("the same film gives the same bytes, another one other identifiers") {
  const FilmToWrite film = film_of_bits(12);
  CHECK(encode_dicom(film) == encode_dicom(film));
  const auto identifiers = [](const FilmToWrite& written) {
    const std::vector<std::uint8_t> bytes = encode_dicom(written);
    const std::string text(bytes.begin(), bytes.end());
    std::string all;
    for (std::size_t at = text.find("2.25."); at != std::string::npos; at = text.find("2.25.", at + 1))
      all += text.substr(at, 44);
    return all;
  };
  FilmToWrite other_seed = film;
  other_seed.seed = 6;
  CHECK(identifiers(other_seed) != identifiers(film));
  FilmToWrite other_pixels = film;
  other_pixels.grey = film.grey.clone();
  other_pixels.grey.at<std::uint16_t>(0, 0) ^= 1;
  CHECK(identifiers(other_pixels) != identifiers(film));
  CHECK(identifiers(film).size() > 4 * 40);
}
