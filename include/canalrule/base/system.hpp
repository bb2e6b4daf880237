#pragma once

#include <filesystem>

namespace canalrule {

/// Whether what is printed on standard error is read on a terminal as it comes, not kept in a file.
bool standard_error_is_terminal() noexcept;

/// Keeps a folder to this process, so that no second one writes into it at the same time. The system lets go
/// of it when the process ends in whatever way. On a system or file system that has no such locks
/// nothing is kept.
class FolderHold {
 public:
  /// Refuses (unwritable_output) a folder that another process holds, and one that is not there.
  explicit FolderHold(const std::filesystem::path& folder);
  ~FolderHold();
  FolderHold(const FolderHold&) = delete;
  FolderHold& operator=(const FolderHold&) = delete;

 private:
  int handle_ = -1;
};

}  // namespace canalrule
