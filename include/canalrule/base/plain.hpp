#pragma once

#include <array>
#include <charconv>
#include <string>

namespace canalrule {

/// A number for a sentence, with a point whatever the locale; never "-0.0".
inline std::string plain(double value, int decimals) {
  std::array<char, 400> digits{};
  const auto [end, error] =
      std::to_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed, decimals);
  std::string text(digits.data(), end);
  if (text.starts_with('-') && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
  return text;
}

/// The fewest digits that read back as the same number.
inline std::string plain_shortest(double value) {
  std::array<char, 400> digits{};
  const auto [end, error] =
      std::to_chars(digits.data(), digits.data() + digits.size(), value, std::chars_format::fixed);
  return {digits.data(), end};
}

inline std::string plain_stretch(double from_mm, double to_mm) {
  return plain(from_mm, 1) + " to " + plain(to_mm, 1) + " mm";
}

}  // namespace canalrule
