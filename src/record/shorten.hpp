#pragma once

#include <string>

namespace canalrule {

/// At most 40 bytes of a value found, for a message of one line; never cut inside a UTF-8 character.
inline std::string shorten(const std::string& text) {
  constexpr std::size_t most = 40;
  if (text.size() <= most) return text;
  std::size_t end = most;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return text.substr(0, end) + "…";
}

}  // namespace canalrule
