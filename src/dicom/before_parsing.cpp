#include "before_parsing.hpp"

#include <algorithm>
#include <array>
#include <cstring>
#include <fstream>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <zlib.h>

#include <canalrule/base/fault.hpp>

#include "toolkit.hpp"

namespace canalrule::dicom {

namespace {

constexpr std::size_t block = 1U << 16U;
/// Preamble, prefix, and the group length element (0002,0000) that ends at byte 144 (PS3.10 7.1).
constexpr std::size_t meta_starts = 132;
constexpr std::size_t group_length_ends = meta_starts + 12;
constexpr std::string_view deflated_uid = "1.2.840.10008.1.2.1.99";

/// A film has a handful of items, one more for each fragment of packed pixels. DCMTK takes some 1.6 KB
/// of stack a level, measured with files of nested items: so many fit into 2 MB (chosen here).
constexpr int most_items = 1000;

/// Counts the item tags (FFFE,E000) of either byte order in a stream that comes in pieces.
class ItemCounter {
 public:
  void take(std::string_view piece) {
    overlap_.append(piece.substr(0, std::min<std::size_t>(piece.size(), 3)));
    count_in(overlap_);
    count_in(piece);
    const std::size_t kept = std::min<std::size_t>(piece.size(), 3);
    overlap_.assign(piece.substr(piece.size() - kept));
  }
  int items() const { return items_; }

 private:
  void count_in(std::string_view bytes) {
    constexpr std::string_view little("\xFE\xFF\x00\xE0", 4);
    constexpr std::string_view big("\xFF\xFE\xE0\x00", 4);
    for (std::size_t at = bytes.find('\xFE'); at != std::string_view::npos; at = bytes.find('\xFE', at + 1)) {
      const bool is_little = bytes.substr(at, 4) == little;
      const bool is_big = at > 0 && bytes.substr(at - 1, 4) == big;
      if (is_little || is_big) ++items_;
    }
  }

  std::string overlap_;
  int items_ = 0;
};

/// Where the deflated data set begins, or 0 where the file is not one.
std::uint64_t deflated_from(std::string_view head) {
  constexpr std::string_view group_length("\x02\x00\x00\x00UL\x04\x00", 8);
  if (head.size() < group_length_ends || head.substr(meta_starts, 8) != group_length) return 0;
  std::uint64_t length = 0;
  for (std::size_t i = 0; i < 4; ++i)
    length |= static_cast<std::uint64_t>(static_cast<unsigned char>(head[meta_starts + 8 + i])) << (8 * i);
  const std::uint64_t end = group_length_ends + length;
  const auto meta = head.substr(0, static_cast<std::size_t>(std::min<std::uint64_t>(end, head.size())));
  return meta.find(deflated_uid) == std::string_view::npos ? 0 : end;
}

void check_items(const ItemCounter& counter, const std::string& file) {
  if (counter.items() > most_items)
    refuse(file, "", "the data set holds more than " + std::to_string(most_items) + " items",
           "a film has a few; copy it again from its source");
}

std::string_view next_block(std::ifstream& in, std::vector<char>& buffer) {
  in.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
  return {buffer.data(), static_cast<std::size_t>(in.gcount())};
}

/// Unpacks from where the stream stands and counts, block by block.
void check_deflated(std::ifstream& in, std::uint64_t limit_bytes, const std::string& file) {
  z_stream stream{};
  ensure(inflateInit2(&stream, -MAX_WBITS) == Z_OK, "zlib starts");
  const std::unique_ptr<z_stream, int (*)(z_stream*)> closes(&stream, inflateEnd);
  std::vector<char> packed(block);
  std::vector<char> unpacked(block);
  ItemCounter counter;
  std::uint64_t total = 0;
  int state = Z_OK;
  while (state == Z_OK && total <= limit_bytes) {
    if (stream.avail_in == 0) {
      stream.avail_in = static_cast<unsigned>(next_block(in, packed).size());
      stream.next_in = reinterpret_cast<unsigned char*>(packed.data());
      if (stream.avail_in == 0) break;
    }
    stream.next_out = reinterpret_cast<unsigned char*>(unpacked.data());
    stream.avail_out = static_cast<unsigned>(block);
    state = inflate(&stream, Z_NO_FLUSH);
    const std::size_t count = block - stream.avail_out;
    counter.take({unpacked.data(), count});
    total += count;
  }
  if (total > limit_bytes)
    refuse(file, "", "its deflated data set unpacks to more than " + std::to_string(limit_bytes) + " bytes",
           "no periapical film is that large");
  if (state != Z_STREAM_END)
    refuse(file, "", "its deflated data set is damaged or cut off", "copy it again from its source");
  check_items(counter, file);
}

}  // namespace

void check_before_parsing(const std::filesystem::path& path, std::uint64_t limit_bytes) {
  const std::string file = path.string();
  std::ifstream in(path, std::ios::binary);
  std::vector<char> buffer(block);
  std::string_view piece = next_block(in, buffer);
  if (const std::uint64_t from = deflated_from(piece); from > 0) {
    in.clear();
    in.seekg(static_cast<std::streamoff>(from));
    check_deflated(in, limit_bytes, file);
    return;
  }
  ItemCounter counter;
  for (; !piece.empty(); piece = next_block(in, buffer)) counter.take(piece);
  check_items(counter, file);
}

}  // namespace canalrule::dicom
