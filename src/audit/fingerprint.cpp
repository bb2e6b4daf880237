#include "fingerprint.hpp"

#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/reading.hpp>
#include <cstdint>
#include <variant>
#include <vector>

#include "store_line.hpp"

namespace canalrule::audit {

namespace fs = std::filesystem;

namespace {

/// As the rooms that open films and readings; only what is then opened in earnest must be within them.
constexpr std::uint64_t largest_film_bytes = 1U << 30U;

/// Raised whenever the same figures would be kept in another way.
constexpr const char* layout = "canalrule audit store 1";

struct ReadingOnDisk {
  Reading reading;
  std::string sha256;
};

ReadingOnDisk reading_at(const fs::path& file) {
  const std::vector<std::uint8_t> text = read_whole(file, largest_reading_bytes);
  return {parse_reading({reinterpret_cast<const char*>(text.data()), text.size()}, file.string()),
          sha256_hex(text)};
}

std::string film_sha256_of(const Reading& reading, const fs::path& reading_file) {
  return sha256_hex_of(reading_file.parent_path() / reading.image.file, largest_film_bytes);
}

}  // namespace

Fingerprint fingerprint_of(const fs::path& reading_file, const std::string& program) {
  const ReadingOnDisk own = reading_at(reading_file);
  Fingerprint print;
  print.reading_sha256 = own.sha256;
  print.film_sha256 = film_sha256_of(own.reading, reading_file);
  print.reader = own.reading.reader;
  std::string all =
      std::string(layout) + '\n' + program + '\n' + print.reading_sha256 + '\n' + print.film_sha256;
  for (const ScaleMark& mark : own.reading.scale) {
    const auto* carried = std::get_if<CarriedLength>(&mark);
    if (carried == nullptr) continue;
    const fs::path from_file = reading_file.parent_path() / carried->from_reading;
    const ReadingOnDisk from = reading_at(from_file);
    all += '\n' + from.sha256;
    std::error_code ignored;
    if (fs::exists(from_file.parent_path() / from.reading.image.file, ignored))
      all += '\n' + film_sha256_of(from.reading, from_file);
  }
  print.key = key_of(all);
  return print;
}

}  // namespace canalrule::audit
