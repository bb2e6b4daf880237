#pragma once

#include <string_view>

namespace canalrule {

/// The program's version, "major.minor.patch", as written into every result.
std::string_view version() noexcept;

}  // namespace canalrule
