#include "attributes.hpp"

#include <charconv>
#include <cmath>
#include <cstdint>

namespace canalrule::dicom {

namespace {

/// Longer values than this are no spacing, code or description that a message could quote.
constexpr std::size_t longest_text = 1024;

std::string trimmed(const std::string& raw) {
  const std::size_t first = raw.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  return raw.substr(first, raw.find_last_not_of(' ') - first + 1);
}

}  // namespace

std::string attribute_name(const DcmTagKey& key) {
  DcmTag tag(key);
  std::string name;
  for (const char* c = tag.getTagName(); *c != '\0'; ++c) {
    const bool capital = *c >= 'A' && *c <= 'Z';
    if (capital && !name.empty() && !(name.back() >= 'A' && name.back() <= 'Z')) name += ' ';
    name += *c;
  }
  return name + " " + std::string(key.toString().c_str());
}

std::vector<std::string> texts(DcmItem& item, const DcmTagKey& tag) {
  OFString value;
  if (item.findAndGetOFStringArray(tag, value).bad() || value.length() > longest_text) return {};
  std::string raw(value.c_str());
  for (char& c : raw)
    if (c < 0x20 || c > 0x7e) c = '?';
  if (trimmed(raw).empty()) return {};
  std::vector<std::string> values;
  std::size_t begin = 0;
  for (std::size_t end = raw.find('\\'); end != std::string::npos; end = raw.find('\\', begin)) {
    values.push_back(trimmed(raw.substr(begin, end - begin)));
    begin = end + 1;
  }
  values.push_back(trimmed(raw.substr(begin)));
  return values;
}

std::string text(DcmItem& item, const DcmTagKey& tag) {
  const std::vector<std::string> values = texts(item, tag);
  return values.empty() ? std::string() : values.front();
}

std::string quoted(const std::vector<std::string>& values) {
  std::string all;
  for (const std::string& value : values) all += (all.empty() ? "\"" : "\\") + value;
  return all + "\"";
}

std::optional<double> number(const std::string& text) {
  const char* begin = text.data();
  const char* end = begin + text.size();
  if (begin != end && *begin == '+') ++begin;
  double value = 0.0;
  const auto [stopped, error] = std::from_chars(begin, end, value);
  if (error != std::errc() || stopped != end || begin == end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<int> unsigned_short(DcmItem& item, const DcmTagKey& tag) {
  Uint16 value = 0;
  if (item.findAndGetUint16(tag, value).bad()) return std::nullopt;
  return value;
}

std::optional<int> sixteen_bits(DcmItem& item, const DcmTagKey& tag) {
  Uint16 unsigned_value = 0;
  if (item.findAndGetUint16(tag, unsigned_value).good()) return unsigned_value;
  Sint16 signed_value = 0;
  if (item.findAndGetSint16(tag, signed_value).good()) return static_cast<std::uint16_t>(signed_value);
  return std::nullopt;
}

}  // namespace canalrule::dicom
