#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace canalrule {

/// How many bytes the UTF-8 character takes that the text begins with (RFC 3629, 4); 0 where none does.
std::size_t utf8_length(std::string_view text) noexcept;

/// The text with A to Z as a to z, whatever the locale.
std::string lower_case(std::string_view text);

/// The text with a question mark for each byte that is a control character or no UTF-8: safe on a terminal, one line.
std::string printable_line(std::string text);

}  // namespace canalrule
