#pragma once

#include <filesystem>
#include <string>

namespace canalrule::command {

/// The ending of a file's name in lower case, ".png".
std::string ending_of(const std::filesystem::path& file);

/// Whether two names lead to the same file, or would if both were written.
bool same_file(const std::filesystem::path& one, const std::filesystem::path& other);

}  // namespace canalrule::command
