#pragma once

#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

#include <canalrule/record/json_text.hpp>

namespace canalrule {

/// The document that the text holds. Refuses (unusable_input) what is not JSON (RFC 8259) with line and
/// column, a key that stands twice in one object, a number beyond a double's range, and nesting deeper
/// than any record of ours.
nlohmann::json parse_json(std::string_view text, const std::string& file);

}  // namespace canalrule
