#include <canalrule/intake/open_film.hpp>

#include <string>

#include <doctest/doctest.h>

#include <canalrule/base/whole_file.hpp>
#include <canalrule/dicom/write_film.hpp>

#include "temporary_folder.hpp"

using canalrule::encode_png;
using canalrule::Film;
using canalrule::open_film;
using canalrule::Refusal;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;

namespace {

cv::Mat deep_grey() {
  cv::Mat grey(70, 50, CV_16UC1);
  cv::RNG random(1);
  random.fill(grey, cv::RNG::UNIFORM, 0, 65536);
  return grey;
}

cv::Mat shallow_grey() {
  cv::Mat grey(70, 50, CV_8UC1);
  cv::RNG random(2);
  random.fill(grey, cv::RNG::UNIFORM, 0, 256);
  return grey;
}

bool holds(const Film& film, const cv::Mat& grey) {
  cv::Mat wanted;
  grey.convertTo(wanted, CV_32F);
  return film.grey.type() == CV_32FC1 && film.grey.size() == wanted.size() &&
         cv::countNonZero(film.grey != wanted) == 0;
}

}  // namespace

TEST_CASE("a PNG that was written is read back exactly, and says what it is") {
  const TemporaryFolder folder;
  const auto bytes = encode_png(deep_grey());
  const Film deep = open_film(folder.write("film.png", bytes));
  CHECK(holds(deep, deep_grey()));
  CHECK(deep.format == "PNG, 16 bit grey");
  CHECK(deep.bits_stored == 16);
  CHECK(deep.lowest_grey == 0.0);
  CHECK(deep.highest_grey == 65535.0);
  CHECK(deep.sha256 == canalrule::sha256_hex(bytes));
  CHECK(deep.unusable.empty());
  CHECK_FALSE(deep.spacing.has_value());
  CHECK_FALSE(deep.radiopaque.has_value());
  CHECK_FALSE(deep.response.has_value());

  const Film shallow = open_film(folder.write("film8.png", encode_png(shallow_grey())));
  CHECK(holds(shallow, shallow_grey()));
  CHECK(shallow.bits_stored == 8);
}

TEST_CASE("a part of a larger picture is written as it stands, and twice the same") {
  const TemporaryFolder folder;
  const cv::Mat part = deep_grey()(cv::Rect(7, 9, 31, 40));
  CHECK(holds(open_film(folder.write("part.png", encode_png(part))), part));
  CHECK(encode_png(part) == encode_png(part.clone()));
}

TEST_CASE("the format is told from the content, not from the name") {
  const TemporaryFolder folder;
  canalrule::dicom::FilmToWrite film;
  film.grey = deep_grey();
  CHECK(
      holds(open_film(folder.write("really-dicom.png", canalrule::dicom::encode_dicom(film))), deep_grey()));
  CHECK(holds(open_film(folder.write("really-png.dcm", encode_png(deep_grey()))), deep_grey()));
}

TEST_CASE("opened by one worker or by many, a film is the same, and so is a refusal") {
  const TemporaryFolder folder;
  canalrule::dicom::FilmToWrite film;
  film.grey = deep_grey();
  const auto dicom = canalrule::dicom::encode_dicom(film);
  const auto png = encode_png(deep_grey());
  for (const std::size_t threads : {std::size_t{1}, std::size_t{2}, std::size_t{3}, std::size_t{100}}) {
    CAPTURE(threads);
    for (const auto& bytes : {dicom, png}) {
      const Film opened = open_film(folder.write("film", bytes), threads);
      CHECK(holds(opened, deep_grey()));
      CHECK(opened.sha256 == canalrule::sha256_hex(bytes));
      const std::vector<std::uint8_t> cut(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(bytes.size() / 2));
      const auto file = folder.write("cut", cut);
      CHECK(refusal_of([&] { open_film(file, threads); }).problem() ==
            refusal_of([&] { open_film(file); }).problem());
    }
  }
}

TEST_CASE("anything else is refused in one line that names the file and what it is") {
  const TemporaryFolder folder;
  const auto refused = [&](const std::string& name, const std::string& content) {
    const auto file = folder.write(name, content);
    const Refusal refusal = refusal_of([&] { open_film(file); });
    CHECK(refusal.kind() == canalrule::RefusalKind::unusable_input);
    CHECK(refusal.where() == file.string());
    CHECK(std::string(refusal.what()).find('\n') == std::string::npos);
    return refusal.problem();
  };
  CHECK(refused("a.png", "\xFF\xD8\xFF\xE0 and so on").find("JPEG") != std::string::npos);
  CHECK(refused("b.png", std::string("II*\0", 4) + std::string(50, ' ')).find("TIFF") != std::string::npos);
  CHECK(refused("c.dcm", "{ \"schema\": 1 }").find("JSON") != std::string::npos);
  CHECK(refused("d.dcm", "a note").find("neither a PNG nor a DICOM") != std::string::npos);
  CHECK(refused("e.png", "").find("empty") != std::string::npos);
  CHECK(refused("f.png", "\x89PNG\r\n\x1a\n").find("header") != std::string::npos);
  CHECK(refused("g.dcm", std::string(128, '\0') + "DICM").find("cut off") != std::string::npos);
  CHECK(refusal_of([&] { open_film(folder.path() / "none.png"); }).problem() == "there is no such file");
  CHECK(refusal_of([&] { open_film(folder.path()); }).problem() == "this is a folder");
}

TEST_CASE("a film is never written to") {
  const TemporaryFolder folder;
  const auto bytes = encode_png(deep_grey());
  const auto file = folder.write("film.png", bytes);
  std::filesystem::permissions(file, std::filesystem::perms::owner_read);
  const auto before = std::filesystem::last_write_time(file);
  open_film(file);
  CHECK(std::filesystem::last_write_time(file) == before);
  CHECK(canalrule::read_whole(file, bytes.size()) == bytes);
}
