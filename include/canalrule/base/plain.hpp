#pragma once

#include <array>
#include <charconv>
#include <string>
#include <utility>

namespace canalrule {

/// A number for a file that programs read: a point whatever the locale, a hyphen for minus, never a negative nought.
inline std::string digits(double value, int decimals) {
  std::array<char, 400> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
  std::string text(buffer.data(), end);
  if (text.starts_with('-') && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
  return text;
}

/// Digits for a sentence: with a minus sign (U+2212).
inline std::string with_minus_sign(std::string digits) {
  return digits.starts_with('-') ? "−" + digits.substr(1) : std::move(digits);
}

/// A number for a sentence.
inline std::string plain(double value, int decimals) { return with_minus_sign(digits(value, decimals)); }

/// The fewest digits that read back as the same number, for a sentence.
inline std::string plain_shortest(double value) {
  std::array<char, 400> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed);
  return with_minus_sign({buffer.data(), end});
}

inline std::string plain_stretch(double from_mm, double to_mm) {
  return plain(from_mm, 1) + " to " + plain(to_mm, 1) + " mm";
}

}  // namespace canalrule
