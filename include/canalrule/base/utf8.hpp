#pragma once

#include <cstddef>
#include <string_view>

namespace canalrule {

/// How many bytes the UTF-8 character takes that the text begins with (RFC 3629, 4); 0 where none does.
std::size_t utf8_length(std::string_view text) noexcept;

}  // namespace canalrule
