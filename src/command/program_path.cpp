#include "program_path.hpp"

#include <algorithm>
#include <system_error>

namespace canalrule::command {

namespace fs = std::filesystem;

namespace {

constexpr bool windows = fs::path::preferred_separator == '\\';

/// The plain file that `path` leads to, with or without the ending of a Windows program.
fs::path plain_file(const fs::path& path) {
  for (const char* ending : {"", ".exe"}) {
    std::error_code error;
    fs::path candidate = path;
    candidate += ending;
    candidate = fs::canonical(candidate, error);
    if (!error && fs::is_regular_file(candidate, error)) return candidate;
  }
  return {};
}

}  // namespace

fs::path program_path(const std::string& started_as, const std::string& search_path) {
  const fs::path name(started_as);
  if (name.has_parent_path()) return plain_file(name);
  constexpr char separator = windows ? ';' : ':';
  for (std::size_t begin = 0; begin <= search_path.size();) {
    const std::size_t end = std::min(search_path.find(separator, begin), search_path.size());
    const fs::path folder(search_path.substr(begin, end - begin));
    if (const fs::path found = plain_file(folder / name); !found.empty()) return found;
    begin = end + 1;
  }
  return {};
}

}  // namespace canalrule::command
