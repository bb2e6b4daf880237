#include <canalrule/dicom/read_dicom.hpp>

#include <algorithm>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/dicom/write_film.hpp>

#include "temporary_folder.hpp"

using canalrule::Refusal;
using canalrule::dicom::looks_like_dicom;
using canalrule::dicom::read_dicom;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;

namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes good_film() {
  canalrule::dicom::FilmToWrite film;
  film.bits_stored = 12;
  film.grey.create(40, 30, CV_16UC1);
  film.grey.setTo(1234);
  return canalrule::dicom::encode_dicom(film);
}

/// The film with the two bytes of an unsigned short attribute replaced.
Bytes with_number(std::uint16_t group, std::uint16_t element, std::uint16_t value) {
  Bytes bytes = good_film();
  const auto low = [](std::uint16_t v) { return static_cast<std::uint8_t>(v & 0xFFU); };
  const auto high = [](std::uint16_t v) { return static_cast<std::uint8_t>(v >> 8U); };
  const Bytes start{low(group), high(group), low(element), high(element), 'U', 'S', 2, 0};
  const auto at = std::search(bytes.begin(), bytes.end(), start.begin(), start.end());
  REQUIRE(at != bytes.end());
  at[8] = low(value);
  at[9] = high(value);
  return bytes;
}

Refusal refused(const Bytes& bytes, std::int64_t largest_pixels = 1'000'000) {
  const TemporaryFolder folder;
  const auto file = folder.write("film.dcm", bytes);
  const Refusal refusal = refusal_of([&] { read_dicom(file, largest_pixels); });
  CHECK(refusal.kind() == canalrule::RefusalKind::unusable_input);
  CHECK(refusal.where() == file.string());
  return refusal;
}

void append(Bytes& bytes, const Bytes& more) { bytes.insert(bytes.end(), more.begin(), more.end()); }

}  // namespace

TEST_CASE("DICOM is told with and without its preamble") {
  const Bytes film = good_film();
  CHECK(looks_like_dicom(film));
  const Bytes without_preamble(film.begin() + 132, film.end());
  CHECK(looks_like_dicom(without_preamble));
  CHECK(looks_like_dicom(Bytes{8, 0, 5, 0, 10, 0, 0, 0, 'I', 'S', 'O', '_'}));
  CHECK(looks_like_dicom(Bytes{0, 8, 0, 5, 'C', 'S', 0, 10, 'I', 'S', 'O', '_'}));
  CHECK_FALSE(looks_like_dicom(Bytes{}));
  CHECK_FALSE(looks_like_dicom(Bytes(500, 0)));
  CHECK_FALSE(looks_like_dicom(Bytes{0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n', 0, 0, 0, 13}));
}

TEST_CASE("a header that can't be measured is refused by its attribute") {
  CHECK(refused(with_number(0x28, 0x02, 3)).field() == "Samples Per Pixel (0028,0002)");
  CHECK(refused(with_number(0x28, 0x10, 0)).field() == "Rows (0028,0010)");
  CHECK(refused(with_number(0x28, 0x11, 0)).field() == "Columns (0028,0011)");
  CHECK(refused(with_number(0x28, 0x100, 32)).field() == "Bits Allocated (0028,0100)");
  CHECK(refused(with_number(0x28, 0x101, 17)).field() == "Bits Stored (0028,0101)");
  CHECK(refused(with_number(0x28, 0x101, 5)).field() == "Bits Stored (0028,0101)");
  CHECK(refused(with_number(0x28, 0x102, 10)).field() == "High Bit (0028,0102)");
  CHECK(refused(with_number(0x28, 0x102, 16)).field() == "High Bit (0028,0102)");
  CHECK(refused(with_number(0x28, 0x103, 2)).field() == "Pixel Representation (0028,0103)");
}

TEST_CASE("a header that promises more than the file holds is refused before anything is allocated") {
  const Refusal promise = refused(with_number(0x28, 0x10, 41));
  CHECK(promise.field() == "Pixel Data (7fe0,0010)");
  CHECK(promise.problem().find("promises") != std::string::npos);
  CHECK(refused(with_number(0x28, 0x10, 65535), 1'000'000).problem().find("30 x 65535") != std::string::npos);
}

TEST_CASE("a file cut off anywhere is refused") {
  const Bytes whole = good_film();
  for (std::size_t length = 132; length < whole.size(); length += 61) {
    CAPTURE(length);
    const Bytes part(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length));
    CHECK(refused(part).problem() != "nothing was refused");
  }
}

TEST_CASE("items nested without end are refused before they are followed") {
  const Bytes film = good_film();
  Bytes bytes(film.begin(), film.begin() + 144);
  const auto meta_length = static_cast<std::ptrdiff_t>(film[140]) + 256 * film[141];
  bytes.insert(bytes.end(), film.begin() + 144, film.begin() + 144 + meta_length);
  for (int level = 0; level < 100'000; ++level) {
    append(bytes, {8, 0, 0x40, 0x11, 'S', 'Q', 0, 0, 0xFF, 0xFF, 0xFF, 0xFF});
    append(bytes, {0xFE, 0xFF, 0x00, 0xE0, 0xFF, 0xFF, 0xFF, 0xFF});
  }
  CHECK(refused(bytes).problem().find("items") != std::string::npos);
}
