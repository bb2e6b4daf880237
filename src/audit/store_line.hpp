#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <string_view>

namespace canalrule::audit {

inline constexpr std::size_t key_digits = 32;

/// What a line of a store holds.
enum class LineKind : char {
  head = 'H',          ///< of a finished audit: `about` says what holds for all rows
  measured = 'm',      ///< found for a fingerprint, not yet in a row
  failed = 'f',        ///< the same; `about` says why
  measured_row = 'M',  ///< a finished row: `about` is the row, `result` what was measured
  failed_row = 'F'
};

/// One line: a checksum, the kind, the key, and two JSON texts without line ends.
struct StoreLine {
  LineKind kind = LineKind::head;
  std::string key;  ///< 32 hexadecimal digits
  std::string about;
  std::string result;  ///< empty where nothing was measured
};

/// Fields parted by tabs, ended by a line feed; it begins with 16 hexadecimal digits of SHA-256 over the
/// rest.
std::string encode(const StoreLine& line);

/// Nothing where the text, without its line feed, is no such line or was damaged.
std::optional<StoreLine> decode(std::string_view text);

/// The first 32 hexadecimal digits of SHA-256: enough that no two texts are ever taken for one.
std::string key_of(std::string_view text);

/// Reads a store line by line.
class StoreReader {
 public:
  explicit StoreReader(const std::filesystem::path& file) : in_(file, std::ios::binary) {}

  bool is_open() const { return in_.is_open(); }
  /// The next line; nothing at the end, at a damaged line, and at one without its line feed.
  std::optional<StoreLine> next();
  /// Where the line after the last good one begins.
  std::uint64_t offset() const { return offset_; }
  /// Whether it was the end of the file that the last call met.
  bool at_end() const { return at_end_; }
  /// The line that begins there.
  std::optional<StoreLine> at(std::uint64_t offset);

 private:
  std::ifstream in_;
  std::uint64_t offset_ = 0;
  bool at_end_ = false;
  std::string text_;
};

}  // namespace canalrule::audit
