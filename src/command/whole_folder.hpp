#pragma once

#include <filesystem>
#include <optional>
#include <string_view>
#include <vector>

#include <canalrule/base/system.hpp>

namespace canalrule::command {

/// A folder of results that is written whole or not at all: what is added goes to a folder of its own beside
/// it, which takes its name once everything is there. Until then an earlier folder of that name stays as it
/// was; an end before that leaves nothing new under that name.
class WholeFolder {
 public:
  /// Refuses (wrong_use) a name that holds anything but what an earlier call of the same kind wrote: `known`
  /// are the names that such a folder may hold, a name that ends in / being a folder of files. Refuses
  /// (unwritable_output) one that another run writes at the moment.
  WholeFolder(std::filesystem::path folder, const std::vector<std::string_view>& known);
  ~WholeFolder();
  WholeFolder(const WholeFolder&) = delete;
  WholeFolder& operator=(const WholeFolder&) = delete;

  /// Writes one file, `name` relative to the folder. Refuses (unwritable_output).
  void add(const std::filesystem::path& name, std::string_view bytes);

  /// Puts the folder in its place. Refuses (unwritable_output) with the system's reason; then an earlier one
  /// stands.
  void finish();

 private:
  std::filesystem::path folder_;
  std::filesystem::path written_;
  std::optional<FolderHold> hold_;
};

}  // namespace canalrule::command
