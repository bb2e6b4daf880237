#include <canalrule/base/utf8.hpp>

namespace canalrule {

std::size_t utf8_length(std::string_view text) noexcept {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(text[at]); };
  if (text.empty()) return 0;
  const unsigned lead = byte(0);
  if (lead < 0x80U) return 1;
  if (lead < 0xC2U || lead > 0xF4U) return 0;
  const std::size_t length = lead < 0xE0U ? 2 : lead < 0xF0U ? 3 : 4;
  if (length > text.size()) return 0;
  for (std::size_t at = 1; at < length; ++at)
    if ((byte(at) & 0xC0U) != 0x80U) return 0;
  // Overlong forms, surrogates and what lies beyond U+10FFFF.
  const unsigned second = byte(1);
  const bool none = (lead == 0xE0U && second < 0xA0U) || (lead == 0xEDU && second > 0x9FU) ||
                    (lead == 0xF0U && second < 0x90U) || (lead == 0xF4U && second > 0x8FU);
  return none ? 0 : length;
}

std::string lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return lower;
}

std::string printable_line(std::string text) {
  for (std::size_t at = 0; at < text.size();) {
    const auto first = static_cast<unsigned char>(text[at]);
    const std::size_t length =
        first < 0x20U || first == 0x7FU ? 0 : utf8_length(std::string_view(text).substr(at));
    if (length == 0) text[at] = '?';
    at += length == 0 ? 1 : length;
  }
  return text;
}

}  // namespace canalrule
