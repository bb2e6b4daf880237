#include "output_folder.hpp"

#include <canalrule/base/refusal.hpp>
#include <system_error>
#include <vector>

#include "row_text.hpp"
#include "store.hpp"

namespace canalrule::audit {

namespace fs = std::filesystem;

fs::path opened_output(const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder / pictures_name, error);
  if (error)
    throw Refusal(RefusalKind::unwritable_output, folder.string(), "",
                  "the folder can't be made: " + error.message(), "name a folder that can be written");
  return folder;
}

RowsWriter::RowsWriter(const fs::path& folder, const AuditHead& head, const AuditPart& part)
    : folder_(folder), file_(folder / rows_name) {
  file_.append(encode(head_line(head, part)));
}

void RowsWriter::add(const CaseRow& row, const std::string& key, const std::string& result) {
  file_.append(encode(row_line(row, key, result)));
  if (!row.picture.empty()) pictures_.insert(fs::path(row.picture).filename().string());
}

std::string RowsWriter::add(const StoreLine& line, const std::string& from) {
  file_.append(encode(line));
  std::string picture = picture_of(line, from);
  if (!picture.empty()) pictures_.insert(fs::path(picture).filename().string());
  return picture;
}

namespace {

/// What picture_file_of gives; a person's own file in this folder is left alone.
bool is_picture_of_ours(const fs::path& file) {
  const std::string name = file.stem().string();
  return name.size() == key_digits && name.find_first_not_of("0123456789abcdef") == std::string::npos;
}

}  // namespace

void RowsWriter::commit() {
  file_.commit();
  std::error_code error;
  std::vector<fs::path> stale;
  for (fs::directory_iterator entry(folder_ / pictures_name, error), end; !error && entry != end;
       entry.increment(error))
    if (is_picture_of_ours(entry->path()) && !pictures_.contains(entry->path().filename().string()))
      stale.push_back(entry->path());
  for (const fs::path& file : stale) fs::remove(file, error);
  if (fs::is_empty(folder_ / pictures_name, error)) fs::remove(folder_ / pictures_name, error);
}

}  // namespace canalrule::audit
