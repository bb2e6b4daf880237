// Damaged input in great number: each is read or refused as unusable, never a crash, another exception or
// a refusal that doesn't name the file. CANALRULE_FUZZ_CASES says how many of each kind (400 unless told);
// every case is drawn from its own number, so that a failure names the case that repeats it.
#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/dicom/write_film.hpp>
#include <canalrule/intake/open_film.hpp>
#include <canalrule/phantom/description.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>
#include <doctest/doctest.h>
#include <zlib.h>

#include "temporary_folder.hpp"

using namespace canalrule;
namespace fs = std::filesystem;

namespace {

using Bytes = std::vector<std::uint8_t>;

int cases_of_each() {
  const char* told = std::getenv("CANALRULE_FUZZ_CASES");
  return told == nullptr ? 400 : std::stoi(told);
}

/// Whole numbers from `least` to `most`; not the library's distribution, whose draws differ between systems.
class Draw {
 public:
  explicit Draw(std::uint64_t number) : engine_(number) {}
  std::size_t operator()(std::size_t least, std::size_t most) { return least + engine_() % (most - least + 1); }

 private:
  std::mt19937_64 engine_;
};

Bytes content_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// One to four changes: bits, bytes, telling numbers, pieces cut out, doubled or moved, the end cut off.
Bytes damaged(Bytes bytes, Draw& draw) {
  constexpr std::uint8_t telling[] = {0x00, 0x01, 0x7f, 0x80, 0xfe, 0xff};
  for (std::size_t change = draw(1, 4); change > 0 && bytes.size() > 8; --change) {
    // Headers are where the decisions are made: half of all changes fall into the first 600 bytes.
    const std::size_t reach = draw(0, 1) == 0 ? std::min<std::size_t>(bytes.size(), 600) : bytes.size();
    const std::size_t at = draw(0, reach - 1);
    const std::size_t length = std::min(draw(1, 64), bytes.size() - at);
    const auto piece = bytes.begin() + static_cast<std::ptrdiff_t>(at);
    switch (draw(0, 6)) {
      case 0: bytes[at] ^= static_cast<std::uint8_t>(1U << draw(0, 7)); break;
      case 1: bytes[at] = static_cast<std::uint8_t>(draw(0, 255)); break;
      case 2: std::fill_n(piece, std::min<std::size_t>(length, draw(1, 8)), telling[draw(0, 5)]); break;
      case 3: bytes.erase(piece, piece + static_cast<std::ptrdiff_t>(length)); break;
      case 4: {
        const Bytes copied(piece, piece + static_cast<std::ptrdiff_t>(length));
        bytes.insert(piece, copied.begin(), copied.end());
        break;
      }
      case 5: std::rotate(piece, piece + static_cast<std::ptrdiff_t>(length / 2),
                          piece + static_cast<std::ptrdiff_t>(length)); break;
      default: bytes.resize(std::max<std::size_t>(8, at)); break;
    }
  }
  return bytes;
}

/// Puts right the checksums of a PNG file's chunks (ISO/IEC 15948, 5.3), so that damage gets past them.
void mend_checksums(Bytes& png) {
  for (std::size_t at = 8; at + 12 <= png.size();) {
    const std::size_t length = (std::size_t{png[at]} << 24U) | (std::size_t{png[at + 1]} << 16U) |
                               (std::size_t{png[at + 2]} << 8U) | png[at + 3];
    if (length > png.size() - at - 12) return;
    const uLong sum = crc32(0, &png[at + 4], static_cast<uInt>(length + 4));
    for (unsigned byte = 0; byte < 4; ++byte)
      png[at + 8 + length + byte] = static_cast<std::uint8_t>(sum >> (24U - 8U * byte));
    at += 12 + length;
  }
}

/// Runs one case; false, with a message, where it ends in anything but success or a fitting refusal.
void read_or_refused(const std::function<void()>& read, const std::string& name) {
  try {
    read();
  } catch (const Refusal& refusal) {
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    CHECK(refusal.where() == name);
    CHECK(!refusal.problem().empty());
  } catch (const std::exception& error) {
    FAIL_CHECK("ended in another exception: ", error.what());
  }
}

cv::Mat small_film() {
  cv::Mat grey(48, 40, CV_16UC1);
  for (int row = 0; row < grey.rows; ++row)
    for (int column = 0; column < grey.cols; ++column)
      grey.at<std::uint16_t>(row, column) = static_cast<std::uint16_t>((row * 61 + column * column * 7) % 4096);
  return grey;
}

void films(const Bytes& whole, const std::string& name, const std::function<void(Bytes&, Draw&)>& finish) {
  const canalrule_test::TemporaryFolder folder;
  for (int number = 0; number < cases_of_each(); ++number) {
    CAPTURE(number);
    Draw draw(static_cast<std::uint64_t>(number));
    Bytes bytes = damaged(whole, draw);
    finish(bytes, draw);
    const fs::path file = folder.write(name, bytes);
    read_or_refused([&] { (void)open_film(file); }, file.string());
  }
}

void texts(const std::string& ending, const std::function<void(std::string_view, const std::string&)>& parse) {
  std::vector<fs::path> files;
  for (const auto& folder : {fs::path(CANALRULE_SOURCE_DIR) / "sample-images",
                             fs::path(CANALRULE_SOURCE_DIR) / "docs" / "criteria"})
    for (const auto& entry : fs::directory_iterator(folder))
      if (entry.path().filename().string().ends_with(ending)) files.push_back(entry.path());
  std::ranges::sort(files);
  REQUIRE(!files.empty());
  for (int number = 0; number < cases_of_each(); ++number) {
    CAPTURE(number);
    Draw draw(static_cast<std::uint64_t>(number));
    const Bytes bytes = damaged(content_of(files[draw(0, files.size() - 1)]), draw);
    const std::string text(bytes.begin(), bytes.end());
    read_or_refused([&] { parse(text, "damaged.json"); }, "damaged.json");
  }
}

}  // namespace

TEST_CASE("damaged PNG films") {
  films(encode_png(small_film()), "film.png", [](Bytes& bytes, Draw& draw) {
    if (draw(0, 3) > 0) mend_checksums(bytes);
  });
}

TEST_CASE("damaged DICOM films") {
  const Bytes whole = dicom::encode_dicom(
      {.grey = small_film(), .bits_stored = 12, .radiopaque = Radiopaque::bright,
       .response = Response::log, .spacing = {}, .tooth = "36",
       .seed = 7, .description = "invented"});
  films(whole, "film.dcm", [](Bytes&, Draw&) {});
}

TEST_CASE("damaged readings") {
  texts(".reading.json", [](std::string_view text, const std::string& name) { (void)parse_reading(text, name); });
}

TEST_CASE("damaged criteria") {
  texts(".json", [](std::string_view text, const std::string& name) { (void)parse_criteria(text, name); });
}

TEST_CASE("damaged descriptions of films") {
  texts(".phantom.json",
        [](std::string_view text, const std::string& name) { (void)phantom::parse_description(text, name); });
}

TEST_CASE("anything taken for a result") {
  texts(".json", [](std::string_view text, const std::string& name) { (void)parse_result(text, name); });
}
