#pragma once

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace canalrule {

/// The whole content of a file. Refuses (unusable_input) a file that does not exist, is a folder,
/// can't be read, is empty, or is larger than `limit_bytes`, before allocating for it.
std::vector<std::uint8_t> read_whole(const std::filesystem::path& file, std::uint64_t limit_bytes);

/// The first `count` bytes of a file, or all of a shorter one. Refuses as read_whole.
std::vector<std::uint8_t> read_start(const std::filesystem::path& file, std::uint64_t limit_bytes,
                                     std::size_t count);

/// Hands a file's bytes over piece by piece, in order. Refuses as read_whole.
void read_in_pieces(const std::filesystem::path& file, std::uint64_t limit_bytes,
                    const std::function<void(std::span<const std::uint8_t>)>& take);

/// Writes a file whole or not at all: a temporary file beside it, flushed to the disk, then renamed
/// over the name. Refuses (unwritable_output) with the system's reason; then nothing is left behind. What lies
/// there and is a device or a pipe is refused too.
/// Depends on the operating system beyond the C++ library.
void write_whole(const std::filesystem::path& file, std::span<const std::uint8_t> bytes);
void write_whole(const std::filesystem::path& file, std::string_view text);

/// Who may read a new file: those whom the system lets, or its owner alone, where it knows owners.
enum class ReadBy { usual, owner };

/// The same for a file that is too large to be held in memory: what is appended goes into the temporary file,
/// and `commit` puts it in place. Without `commit` nothing is left behind.
class WholeFile {
 public:
  explicit WholeFile(std::filesystem::path file, ReadBy read_by = ReadBy::usual);
  ~WholeFile();
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;

  void append(std::string_view text);
  void commit();

 private:
  std::filesystem::path file_;
  std::filesystem::path temporary_;
  std::FILE* out_ = nullptr;
};

/// Removes the temporary files that a killed process has left in this folder.
void remove_torn_files(const std::filesystem::path& folder);

/// SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits.
std::string sha256_hex(std::span<const std::uint8_t> bytes);

/// The same of a file's bytes, read in pieces. Refuses as read_whole.
std::string sha256_hex_of(const std::filesystem::path& file, std::uint64_t limit_bytes);

}  // namespace canalrule
