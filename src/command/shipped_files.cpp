#include "shipped_files.hpp"

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <system_error>

namespace canalrule::command {

namespace fs = std::filesystem;

namespace {

const char* folder_of(ShippedKind kind) {
  switch (kind) {
    case ShippedKind::criteria:
      return "criteria";
    case ShippedKind::rubrics:
      return "rubrics";
    case ShippedKind::feedback:
      return "feedback";
  }
  return "";
}

const char* plural_of(ShippedKind kind) {
  return kind == ShippedKind::feedback ? "feedback file" : folder_of(kind);
}

}  // namespace

std::vector<ShippedFile> shipped_files(ShippedKind kind, const fs::path& program) {
  std::vector<ShippedFile> found;
  if (program.empty()) return found;
  const fs::path folder = program.parent_path();
  for (const fs::path& place :
       {folder / folder_of(kind), folder / CANALRULE_DATA_FROM_PROGRAM / folder_of(kind)}) {
    std::error_code error;
    for (fs::directory_iterator entry(place, error), end; !error && entry != end; entry.increment(error))
      if (entry->path().extension() == ".json")
        found.push_back({entry->path().stem().string(), entry->path()});
    if (!found.empty()) break;
  }
  std::ranges::sort(found, {}, &ShippedFile::name);
  return found;
}

fs::path shipped_file(ShippedKind kind, const AskedFile& asked, const fs::path& program) {
  const fs::path path(asked.name_or_path);
  if (path.has_parent_path() || path.extension() == ".json") return path;
  std::string names;
  for (const ShippedFile& shipped : shipped_files(kind, program)) {
    if (shipped.name == asked.name_or_path) return shipped.file;
    names += (names.empty() ? "" : ", ") + shipped.name;
  }
  throw Refusal(
      RefusalKind::wrong_use, asked.subcommand, asked.option,
      std::string("no ") + plural_of(kind) + " named \"" + asked.name_or_path + "\" came with the program",
      names.empty() ? "the folder of what comes with it was not found: give the path of a .json file"
                    : "there are " + names + "; or give the path of a file, ending in .json");
}

}  // namespace canalrule::command
