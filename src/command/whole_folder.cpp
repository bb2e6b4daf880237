#include "whole_folder.hpp"

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <string>
#include <system_error>

namespace canalrule::command {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void cannot_write(const fs::path& folder, const std::error_code& error) {
  throw Refusal(RefusalKind::unwritable_output, folder.string(), "", error.message(),
                "name a folder that can be written to");
}

fs::path beside(const fs::path& folder, const std::string& ending) {
  return folder.parent_path() / ("." + folder.filename().string() + ending);
}

/// The folder's name without a separator at its end.
fs::path named(const fs::path& folder) {
  const fs::path plain = folder.lexically_normal();
  return plain.has_filename() ? plain : plain.parent_path();
}

void check_contents(const fs::path& folder, const std::vector<std::string_view>& known) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(folder, error))) return;
  if (!fs::is_directory(fs::symlink_status(folder, error)))
    throw Refusal(RefusalKind::wrong_use, folder.string(), "", "this is no folder", "name another one");
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string() + (entry->is_directory() ? "/" : "");
    if (std::ranges::find(known, name) == known.end())
      throw Refusal(RefusalKind::wrong_use, folder.string(), "",
                    "it holds '" + name + "', which isn't written here",
                    "name a folder that is empty, new, or holds earlier pages of the same kind");
  }
  if (error) cannot_write(folder, error);
}

}  // namespace

WholeFolder::WholeFolder(fs::path folder, const std::vector<std::string_view>& known)
    : folder_(named(folder)), written_(beside(folder_, ".part")) {
  std::error_code error;
  const fs::path before = beside(folder_, ".before");
  // Killed between the two renames of finish: the earlier folder waits under its other name.
  if (!fs::exists(folder_, error) && fs::exists(before, error)) fs::rename(before, folder_, error);
  check_contents(folder_, known);
  fs::create_directories(written_, error);
  if (error) cannot_write(folder_, error);
  hold_.emplace(written_);
  for (const fs::directory_entry& left : fs::directory_iterator(written_, error)) {
    fs::remove_all(left.path(), error);
    if (error) break;
  }
  if (error) cannot_write(folder_, error);
}

WholeFolder::~WholeFolder() {
  std::error_code error;
  if (!written_.empty()) fs::remove_all(written_, error);
}

void WholeFolder::add(const fs::path& name, std::string_view bytes) {
  std::error_code error;
  const fs::path file = written_ / name;
  fs::create_directories(file.parent_path(), error);
  if (error) cannot_write(file.parent_path(), error);
  write_whole(file, bytes);
}

void WholeFolder::finish() {
  std::error_code error;
  const fs::path before = beside(folder_, ".before");
  fs::remove_all(before, error);
  const bool there = fs::exists(folder_, error);
  if (there) fs::rename(folder_, before, error);
  if (error) cannot_write(folder_, error);
  fs::rename(written_, folder_, error);
  if (error) {
    std::error_code ignored;
    if (there) fs::rename(before, folder_, ignored);
    cannot_write(folder_, error);
  }
  written_.clear();
  fs::remove_all(before, error);
}

}  // namespace canalrule::command
