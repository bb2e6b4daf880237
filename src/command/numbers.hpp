#pragma once

#include <charconv>
#include <cstddef>
#include <optional>
#include <string_view>

namespace canalrule::command {

/// The whole number that a text is, digits and nothing else.
inline std::optional<std::size_t> whole_number(std::string_view text) {
  std::size_t number = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, number);
  if (error != std::errc() || stop != end) return std::nullopt;
  return number;
}

}  // namespace canalrule::command
