#pragma once

#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

namespace canalrule {

/// The document that the text holds. Refuses (unusable_input) what is not JSON (RFC 8259) with line and
/// column, a key that stands twice in one object, a number beyond a double's range, and nesting deeper
/// than any record of ours.
nlohmann::json parse_json(std::string_view text, const std::string& file);

/// The document as text: two spaces per level, what fits on a line of 110 columns on one line, points
/// side by side; numbers by the shortest decimals that read back as the same number. Ends with a newline.
/// Text that isn't UTF-8 is written with U+FFFD in place of what is wrong.
std::string write_json(const nlohmann::ordered_json& document);

}  // namespace canalrule
