#pragma once

#include <array>
#include <charconv>
#include <string>

namespace canalrule {

/// A number for a sentence, with a point whatever the locale.
inline std::string plain(double value, int decimals) {
  std::array<char, 400> digits{};
  const auto [end, error] =
      std::to_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed, decimals);
  return std::string(digits.data(), end);
}

inline std::string plain_stretch(double from_mm, double to_mm) {
  return plain(from_mm, 1) + " to " + plain(to_mm, 1) + " mm";
}

}  // namespace canalrule
