#pragma once

#include <string>

namespace canalrule::command {

/// The words of a text in lines of at most 80 columns, each line ended and after `indent`.
std::string wrapped(const std::string& text, const std::string& indent = "");

}  // namespace canalrule::command
