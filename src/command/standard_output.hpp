#pragma once

#include <string_view>

namespace canalrule::command {

/// Prints to standard output and sees that it got there: refuses (unwritable_output) a full disk or a
/// closed pipe.
void print(std::string_view text);

}  // namespace canalrule::command
