#pragma once

#include <filesystem>
#include <string>

namespace canalrule::command {

/// Where the program itself lies, from the name it was started by: a path as it stands, a bare name
/// looked for in `search_path` (the variable PATH). Links are followed. Empty where it isn't found.
std::filesystem::path program_path(const std::string& started_as, const std::string& search_path);

}  // namespace canalrule::command
