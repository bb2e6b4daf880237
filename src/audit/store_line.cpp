#include "store_line.hpp"

#include <array>
#include <canalrule/base/fault.hpp>
#include <canalrule/base/whole_file.hpp>
#include <span>

namespace canalrule::audit {

namespace {

constexpr std::size_t checksum_digits = 16;

std::string digest(std::string_view text, std::size_t digits) {
  return sha256_hex(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()))
      .substr(0, digits);
}

std::optional<LineKind> kind_of(char c) {
  for (const LineKind kind :
       {LineKind::head, LineKind::measured, LineKind::failed, LineKind::measured_row, LineKind::failed_row})
    if (static_cast<char>(kind) == c) return kind;
  return std::nullopt;
}

}  // namespace

std::string key_of(std::string_view text) { return digest(text, key_digits); }

std::string encode(const StoreLine& line) {
  ensure(line.key.size() == key_digits, "a store's key has 32 digits");
  std::string rest{static_cast<char>(line.kind)};
  for (const std::string* field : {&line.key, &line.about, &line.result}) {
    ensure(field->find_first_of("\t\n") == std::string::npos, "a store's field has no tab and no line end");
    rest += '\t' + *field;
  }
  return digest(rest, checksum_digits) + '\t' + rest + '\n';
}

std::optional<StoreLine> decode(std::string_view text) {
  if (text.size() < checksum_digits + 1 || text[checksum_digits] != '\t') return std::nullopt;
  const std::string_view rest = text.substr(checksum_digits + 1);
  if (digest(rest, checksum_digits) != text.substr(0, checksum_digits)) return std::nullopt;
  std::array<std::string_view, 4> fields;
  std::size_t begin = 0;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const std::size_t end = i + 1 == fields.size() ? rest.size() : rest.find('\t', begin);
    if (end == std::string_view::npos) return std::nullopt;
    fields[i] = rest.substr(begin, end - begin);
    begin = end + 1;
  }
  const std::optional<LineKind> kind = fields[0].size() == 1 ? kind_of(fields[0][0]) : std::nullopt;
  if (!kind || fields[1].size() != key_digits) return std::nullopt;
  return StoreLine{*kind, std::string(fields[1]), std::string(fields[2]), std::string(fields[3])};
}

std::optional<StoreLine> StoreReader::next() {
  if (!std::getline(in_, text_)) {
    at_end_ = in_.eof();
    return std::nullopt;
  }
  if (in_.eof()) return std::nullopt;  // no line feed: the last line is torn
  std::optional<StoreLine> line = decode(text_);
  if (line) offset_ += text_.size() + 1;
  return line;
}

std::optional<StoreLine> StoreReader::at(std::uint64_t offset) {
  in_.clear();
  in_.seekg(static_cast<std::streamoff>(offset));
  offset_ = offset;
  return next();
}

}  // namespace canalrule::audit
