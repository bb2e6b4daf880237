#pragma once

#include <string>
#include <vector>

namespace canalrule {

/// What stands with every result, one sentence each.
std::vector<std::string> cautions();

/// What a reading's apex marks are taken for where it doesn't say how sure they are; one sentence.
std::string apex_mark_assumption();

}  // namespace canalrule
