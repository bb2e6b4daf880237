#include <canalrule/desk/work.hpp>

#include <system_error>
#include <utility>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/desk/steps.hpp>

namespace canalrule::desk {

namespace fs = std::filesystem;

namespace {

std::string name_of(const fs::path& file) { return file.filename().string(); }

/// A file's bytes as they are now; nothing where there is none. One that can't be read is like no other.
std::optional<std::string> text_of_file(const fs::path& file) {
  std::error_code ignored;
  if (!fs::exists(fs::symlink_status(file, ignored))) return std::nullopt;
  try {
    const std::vector<std::uint8_t> bytes = read_whole(file, largest_reading_bytes);
    return std::string(bytes.begin(), bytes.end());
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
}

fs::path whole_path(const fs::path& file) { return fs::absolute(file).lexically_normal(); }

/// `file` as a file in `folder` names it; by its whole path where there is no way from one to the other.
std::string named_from(const fs::path& file, const fs::path& folder) {
  std::error_code error;
  const fs::path way = fs::proximate(file, folder.empty() ? fs::path(".") : folder, error);
  return (error || way.empty() ? whole_path(file) : way).generic_string();
}

Drawing with_names_from(Drawing drawing, const fs::path& folder) {
  for (ScaleDrawn& mark : drawing.scale)
    if (!mark.from_reading.empty()) mark.from_reading = named_from(mark.from_reading, folder);
  return drawing;
}

}  // namespace

Change Work::apply(Edit edit) {
  Change change = change_of(drawing_, std::move(edit));
  const Drawing before = std::exchange(drawing_, applied(drawing_, change.forward));
  ++revision_;
  keep_in_journal(before, change.forward);
  return change;
}

void Work::keep_in_journal(const Drawing& before, const Edit& edit) {
  if (journal_) {
    try {
      journal_->append(edit);
      return;
    } catch (const Refusal& refusal) {
      trouble_ = {"%1", {refusal.what()}};
    }
    journal_.reset();
    begin_journal(drawing_);
    return;
  }
  if (!begin_journal(before)) return;
  try {
    journal_->append(edit);
  } catch (const Refusal& refusal) {
    trouble_ = {"%1", {refusal.what()}};
    journal_.reset();
    begin_journal(drawing_);
  }
}

std::vector<fs::path> Work::journal_files() const {
  std::vector<fs::path> files{journal_file_of(reading_file_)};
  if (saving_.spare_folder) files.push_back(spare_journal_file_of(reading_file_, *saving_.spare_folder));
  return files;
}

bool Work::begin_journal(const Drawing& drawing) {
  const std::vector<fs::path> files = journal_files();
  for (std::size_t i = 0; i < files.size(); ++i) {
    try {
      std::error_code ignored;
      if (i > 0) fs::create_directories(*saving_.spare_folder, ignored);
      journal_.emplace(files[i], JournalStart{film_->sha256, base_.reader, drawing});
      state_ = {i == 0 ? Saved::in_journal : Saved::in_spare_journal, {}};
      state_.text = i == 0 ? Sentence{"Kept in %1, not yet in a reading.", {name_of(files[i])}}
                           : Sentence{"The folder can't be written to: kept in %1.", {files[i].string()}};
      return true;
    } catch (const Refusal& refusal) {
      trouble_ = {"%1", {refusal.what()}};
    }
  }
  state_ = {Saved::nowhere, {"Nothing can be written, the marks are in memory only: %1", {plain(trouble_)}}};
  return false;
}

void Work::clear_journal() {
  journal_.reset();
  std::error_code ignored;
  for (const fs::path& file : journal_files()) fs::remove(file, ignored);
}

std::optional<Reading> Work::reading() const {
  const fs::path folder = reading_file_.parent_path();
  Reading base = base_;
  if (base.image.file.empty()) base.image.file = named_from(film_file_, folder);
  return reading_of(with_names_from(drawing_, folder), base);
}

std::optional<std::string> Work::reading_text() const {
  if (on_disk_ && *on_disk_ == drawing_) return disk_text_;
  const std::optional<Reading> now = reading();
  if (!now) return std::nullopt;
  return write_reading(*now);
}

const SaveState& Work::save() {
  const std::optional<std::string> text = reading_text();
  if (!text) {
    if (drawing_ == Drawing{} && !on_disk_) {
      clear_journal();
      state_ = {Saved::nothing_drawn, {}};
    } else {
      keep_unfinished({"Unfinished marks are kept in %1.", {}});
    }
    return state_;
  }
  if (!on_disk_ || *text != disk_text_ || text_of_file(reading_file_) != text) {
    give_way_to_others();
    const std::string to_write = write_reading(*reading());
    try {
      (void)parse_reading(to_write,
                          name_of(reading_file_));  // a value that it wouldn't take back isn't written
      write_whole(reading_file_, to_write);
    } catch (const Refusal& refusal) {
      trouble_ = {"%1", {refusal.what()}};
      keep_unfinished({"The reading can't be written; nothing is lost, all marks are kept in %1. %2", {}});
      return state_;
    }
    disk_text_ = to_write;
    on_disk_ = drawing_;
  }
  if (all_in_reading(drawing_)) {
    clear_journal();
    state_ = {Saved::as_reading, {"Saved in %1.", {name_of(reading_file_)}}};
  } else {
    keep_unfinished({"Saved in %3; unfinished marks are kept in %1.", {}});
    // So that it is seen to be newer than the reading.
    std::error_code ignored;
    if (journal_) fs::last_write_time(journal_->file(), fs::file_time_type::clock::now(), ignored);
  }
  return state_;
}

/// All marks stay in a journal; `text` is said of it, with the journal, what went wrong and the reading as
/// its arguments.
void Work::keep_unfinished(Sentence text) {
  if (!journal_ && !begin_journal(drawing_)) return;
  const bool beside = journal_->file() == journal_file_of(reading_file_);
  text.arguments = {beside ? name_of(journal_->file()) : journal_->file().string(), plain(trouble_),
                    name_of(reading_file_)};
  state_ = {beside ? Saved::in_journal : Saved::in_spare_journal, std::move(text)};
}

/// A file that was put under the reading's name, or changed, since it was opened is not overwritten: another
/// name is taken.
void Work::give_way_to_others() {
  const std::optional<std::string> now = text_of_file(reading_file_);
  if (!now || (on_disk_ && *now == disk_text_)) return;
  const fs::path taken = reading_file_;
  move_to(free_reading_file_of(film_file_, film_->sha256, saving_));
  happened_.push_back(
      {"%1 was changed by somebody else since it was opened and is left as it is; the marks are "
       "saved in %2.",
       {name_of(taken), name_of(reading_file_)}});
}

void Work::move_to(const fs::path& reading_file) {
  const std::vector<fs::path> old_journals = journal_files();
  const bool all_saved = on_disk_ && *on_disk_ == drawing_;
  journal_.reset();
  reading_file_ = reading_file;
  base_.image.file = named_from(film_file_, reading_file_.parent_path());
  on_disk_.reset();
  if (all_saved || !begin_journal(drawing_)) return;
  std::error_code ignored;
  for (const fs::path& old : old_journals)
    if (old != journal_->file()) fs::remove(old, ignored);
}

const SaveState& Work::save_in(const fs::path& folder) {
  saving_.folder = folder;
  saving_.file.reset();
  move_to(free_reading_file_of(film_file_, film_->sha256, saving_));
  return save();
}

std::optional<MeasureRequest> Work::request(std::shared_ptr<const Criteria> criteria) {
  if (!missing(drawing_, film_->spacing).empty()) return std::nullopt;
  MeasureRequest request;
  request.revision = revision_;
  request.reading_text = *reading_text();
  request.reading_file = reading_file_;
  request.film = film_;
  request.whole = whole_;
  request.criteria = std::move(criteria);
  try {
    request.carried = carried_.of(*reading(), reading_file_);
  } catch (const Refusal& refusal) {
    request.refused = {"%1; %2", {refusal.problem(), refusal.remedy()}};
  }
  return request;
}

}  // namespace canalrule::desk
