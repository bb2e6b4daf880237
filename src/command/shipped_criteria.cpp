#include "shipped_criteria.hpp"

#include <algorithm>
#include <system_error>

#include <canalrule/base/refusal.hpp>

namespace canalrule::command {

namespace fs = std::filesystem;

std::vector<ShippedCriteria> shipped_criteria(const fs::path& program) {
  std::vector<ShippedCriteria> found;
  if (program.empty()) return found;
  const fs::path folder = program.parent_path();
  for (const fs::path& place : {folder / "criteria", folder / CANALRULE_CRITERIA_FROM_PROGRAM}) {
    std::error_code error;
    for (fs::directory_iterator entry(place, error), end; !error && entry != end; entry.increment(error))
      if (entry->path().extension() == ".json")
        found.push_back({entry->path().stem().string(), entry->path()});
    if (!found.empty()) break;
  }
  std::ranges::sort(found, {}, &ShippedCriteria::name);
  return found;
}

fs::path criteria_file(const std::string& name_or_path, const fs::path& program) {
  const fs::path path(name_or_path);
  if (path.has_parent_path() || path.extension() == ".json") return path;
  std::string names;
  for (const ShippedCriteria& shipped : shipped_criteria(program)) {
    if (shipped.name == name_or_path) return shipped.file;
    names += (names.empty() ? "" : ", ") + shipped.name;
  }
  throw Refusal(RefusalKind::wrong_use, "measure", "--criteria",
                "no criteria named \"" + name_or_path + "\" came with the program",
                names.empty() ? "its criteria folder was not found: give the path of a criteria file"
                              : "there are " + names + "; or give the path of a criteria file, ending in .json");
}

}  // namespace canalrule::command
