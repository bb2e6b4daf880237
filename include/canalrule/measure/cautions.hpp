#pragma once

#include <string>
#include <vector>

namespace canalrule {

/// What stands with every result, one sentence each.
std::vector<std::string> cautions();

}  // namespace canalrule
