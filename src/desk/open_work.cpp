#include <canalrule/desk/work.hpp>

#include <system_error>
#include <utility>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/intake/open_film.hpp>

namespace canalrule::desk {

namespace fs = std::filesystem;

namespace {

constexpr std::uint64_t largest_journal_bytes = std::uint64_t{256} << 20U;  // chosen here: millions of edits

bool is_reading(const fs::path& file) { return file.extension() == ".json"; }

bool fits(const Reading& reading, const Film& film) {
  const ImageReference& image = reading.image;
  return image.sha256.value_or(film.sha256) == film.sha256 &&
         image.columns.value_or(film.grey.cols) == film.grey.cols &&
         image.rows.value_or(film.grey.rows) == film.grey.rows;
}

/// The marks of a reading, with the readings that it refers to by their whole paths.
Drawing drawing_of_file(const Reading& reading, const fs::path& file) {
  Drawing drawing = drawing_of(reading);
  for (ScaleDrawn& mark : drawing.scale)
    if (!mark.from_reading.empty())
      mark.from_reading = fs::absolute(file.parent_path() / mark.from_reading).lexically_normal().string();
  return drawing;
}

/// Puts a file out of the way under a name that none has; where that fails it stays.
fs::path set_aside(const fs::path& file) {
  std::error_code error;
  for (int number = 1;; ++number) {
    const fs::path aside =
        file.parent_path() / (file.stem().string() + "-" + std::to_string(number) + ".jsonl");
    if (fs::exists(fs::symlink_status(aside, error))) continue;
    fs::rename(file, aside, error);
    return error ? file : aside;
  }
}

}  // namespace

Work Work::open(const fs::path& film_or_reading, const Saving& saving) {
  Work work;
  work.saving_ = saving;
  std::optional<Reading> given;
  work.film_file_ = film_or_reading;
  if (is_reading(film_or_reading)) {
    given = load_reading(film_or_reading);
    if (work.saving_.reader.empty()) work.saving_.reader = given->reader;
    work.film_file_ = film_or_reading.parent_path() / given->image.file;
    std::error_code ignored;
    if (!fs::exists(work.film_file_, ignored))
      throw Refusal(RefusalKind::unusable_input, film_or_reading.string(), "/image/file",
                    "there is no film \"" + given->image.file + "\"",
                    "it is looked for from the reading's own folder");
  }
  work.film_ = std::make_shared<const Film>(open_film(work.film_file_));
  work.whole_ = look_at_whole(*work.film_);
  work.base_.reader = work.saving_.reader;
  const bool ours = given && given->reader == work.saving_.reader && !saving.blind_seed;
  if (ours && !saving.folder && fits(*given, *work.film_)) {
    work.go_on_with(film_or_reading);
  } else {
    work.find_earlier(ours ? std::optional(film_or_reading) : std::nullopt);
  }
  // Completed, so that the film can be told from any other.
  work.base_.image.sha256 = work.film_->sha256;
  work.base_.image.columns = work.film_->grey.cols;
  work.base_.image.rows = work.film_->grey.rows;
  work.recover();
  return work;
}

/// This reader's reading of the film as it is, or of an earlier state of it; `given`: one by this reader that
/// was opened by its own file.
void Work::find_earlier(const std::optional<fs::path>& given) {
  const ReadingFile found = reading_file_of(film_file_, film_->sha256, saving_);
  if (!found.unusable.empty())
    happened_.push_back(
        {"A reading under this reader's name can't be used and is left as it is: %1", {found.unusable}});
  if (found.exists && fits(load_reading(found.file), *film_)) {
    go_on_with(found.file);
    return;
  }
  reading_file_ = found.exists ? free_reading_file_of(film_file_, film_->sha256, saving_) : found.file;
  std::optional<fs::path> other = given;
  if (!other) other = found.exists ? found.file : found.other_film;
  if (!other) return;
  const Reading reading = load_reading(*other);
  Drawing marks = drawing_of_file(reading, *other);
  if (fits(reading, *film_)) {
    drawing_ = std::move(marks);  // given, to be saved in another folder
    base_ = reading;
    base_.image.file.clear();
    return;
  }
  marks_set_aside_ = std::move(marks);
  happened_.push_back(
      {"The film has changed since %1 was made: its marks are not shown unless you take them over.",
       {other->filename().string()}});
}

void Work::go_on_with(const fs::path& reading_file) {
  const std::vector<std::uint8_t> bytes = read_whole(reading_file, largest_reading_bytes);
  base_ = parse_reading({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, reading_file.string());
  disk_text_.assign(bytes.begin(), bytes.end());
  reading_file_ = reading_file;
  drawing_ = drawing_of_file(base_, reading_file);
  on_disk_ = drawing_;
  state_ = {Saved::as_reading, {"Saved in %1.", {reading_file.filename().string()}}};
}

/// Takes up a journal that was left behind.
void Work::recover() {
  std::optional<Drawing> newest;
  fs::path newest_file;
  fs::file_time_type when{};
  for (const fs::path& file : journal_files()) {
    std::error_code error;
    const fs::file_time_type written = fs::last_write_time(file, error);
    if (error) continue;
    try {
      const std::vector<std::uint8_t> bytes = read_whole(file, largest_journal_bytes);
      const Journal journal =
          parse_journal({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, file.string());
      if (journal.start.reader != base_.reader) continue;
      if (journal.start.film_sha256 != film_->sha256) {
        marks_set_aside_ = replay(journal);
        happened_.push_back(
            {"The film has changed since marks in %1 were made: they are not shown unless you take "
             "them over.",
             {set_aside(file).filename().string()}});
      } else if (!newest || written > when) {
        newest = replay(journal);
        newest_file = file;
        when = written;
      }
    } catch (const Refusal& refusal) {
      happened_.push_back({"Marks that were left behind can't be recovered: %1. The file is kept as %2.",
                           {refusal.what(), set_aside(file).filename().string()}});
    }
  }
  if (!newest || *newest == drawing_) return;
  std::error_code error;
  const fs::file_time_type reading_written = fs::last_write_time(reading_file_, error);
  if (!error && on_disk_ && reading_written > when) {
    marks_set_aside_ = std::move(newest);
    happened_.push_back(
        {"%1 was changed after marks were left behind in %2: they are not shown unless you take them "
         "over.",
         {reading_file_.filename().string(), set_aside(newest_file).filename().string()}});
    return;
  }
  drawing_ = std::move(*newest);
  state_ = {Saved::in_journal, {"Marks that are not yet in a reading were recovered.", {}}};
  happened_.push_back(state_.text);
}

}  // namespace canalrule::desk
