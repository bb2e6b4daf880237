#pragma once

#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/desk/edit.hpp>

/// The journal of edits beside a reading: one line of JSON per edit, appended and flushed as it is made, so
/// that whoever is killed loses nothing. It also keeps what a reading can't: unfinished marks.
namespace canalrule::desk {

/// What a journal starts from.
struct JournalStart {
  std::string film_sha256;
  std::string reader;
  Drawing drawing;
  friend bool operator==(const JournalStart&, const JournalStart&) = default;
};

struct Journal {
  JournalStart start;
  std::vector<Edit> edits;
  bool cut_short = false;  ///< the last line was not written whole, and was left out
};

std::string journal_line(const JournalStart& start);
std::string journal_line(const Edit& edit);

/// Refuses (unusable_input) a text whose first line is no start of a journal, and a line other than the last
/// that is no edit or does not apply, by its number.
Journal parse_journal(std::string_view text, const std::string& name);

/// The drawing after all its edits.
Drawing replay(const Journal& journal);

/// Appends to a journal file; every edit is flushed to the operating system before `append` returns.
class JournalWriter {
 public:
  /// Begins a new journal in place of any that is there, whole or not at all. Refuses (unwritable_output).
  JournalWriter(std::filesystem::path file, const JournalStart& start);
  /// Refuses (unwritable_output): then the file ends with the last edit that was written whole.
  void append(const Edit& edit);
  const std::filesystem::path& file() const { return file_; }

 private:
  std::filesystem::path file_;
  std::uintmax_t whole_bytes_ = 0;
  std::ofstream out_;
};

}  // namespace canalrule::desk
