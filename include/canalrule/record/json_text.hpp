#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

namespace canalrule {

/// The document as text: two spaces per level, what fits on a line of 110 columns on one line, points
/// side by side; numbers by the shortest decimals that read back as the same number. Ends with a newline.
/// Text that isn't UTF-8 is written with U+FFFD in place of what is wrong.
std::string write_json(const nlohmann::ordered_json& document);

}  // namespace canalrule
