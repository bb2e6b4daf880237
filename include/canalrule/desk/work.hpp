#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/cases/open_case.hpp>
#include <canalrule/desk/drawing.hpp>
#include <canalrule/desk/edit.hpp>
#include <canalrule/desk/journal.hpp>
#include <canalrule/desk/measuring.hpp>
#include <canalrule/desk/saving.hpp>
#include <canalrule/desk/sentence.hpp>
#include <canalrule/film/film.hpp>

namespace canalrule::desk {

enum class Saved {
  as_reading,        ///< the reading on the disk is the drawing
  in_journal,        ///< unfinished marks or a refused reading: all is in the journal
  in_spare_journal,  ///< the same, in the spare folder, since the readings' folder can't be written to
  nowhere,           ///< neither can be written: the drawing is in memory only
  nothing_drawn
};

/// How the drawing is kept, and in words what happened.
struct SaveState {
  Saved saved = Saved::nothing_drawn;
  Sentence text;
};

/// One film on the desk: the film, opened once, the drawing, its journal and its reading. Each edit is in the
/// journal before `apply` returns; `save` writes the reading. Not safe for use from several threads; what
/// `request` gives away is.
class Work {
 public:
  /// Opens a film, or a reading with its film, and what was drawn on it before: from the journal where one
  /// was left behind, else from this reader's reading. Refuses as open_film and load_reading. A reading
  /// opened by its own file is gone on with in that file, where it is by this reader or `saving` names none;
  /// else its marks are not shown to the second reader, who begins anew in a file of their own.
  static Work open(const std::filesystem::path& film_or_reading, const Saving& saving);

  const Film& film() const { return *film_; }
  const std::filesystem::path& film_file() const { return film_file_; }
  const std::filesystem::path& reading_file() const { return reading_file_; }
  const std::string& reader() const { return base_.reader; }
  const Drawing& drawing() const { return drawing_; }
  std::uint64_t revision() const { return revision_; }  ///< counts the edits made
  const SaveState& save_state() const { return state_; }

  /// What a person should know, oldest first: marks recovered from a journal, a reading that belongs to an
  /// earlier state of the film, a file changed by somebody else. Mostly empty.
  const std::vector<Sentence>& happened() const { return happened_; }

  /// Marks that are not applied by themselves: made on an earlier state of the film (its SHA-256 differs), or
  /// left behind in a journal before somebody else changed the reading; happened() says which.
  /// apply(SetDrawing{*marks_set_aside()}) takes them over, and can be undone.
  const std::optional<Drawing>& marks_set_aside() const { return marks_set_aside_; }

  /// Makes an edit (an undo's or redo's as well) and keeps it in the journal. A journal that can't be written
  /// shows in save_state(); the edit is made all the same.
  Change apply(Edit edit);

  /// Writes the reading whole or not at all, and clears the journal where the reading says everything.
  /// Without change since the last time nothing is written. A file that somebody else has put there or
  /// changed since is left as it is and another name is taken. Never throws for a folder or disk:
  /// save_state() says it.
  const SaveState& save();

  /// Keeps reading and journal in another folder from now on, and saves.
  const SaveState& save_in(const std::filesystem::path& folder);

  /// The reading's text as it stands on the disk or as save() would write it; nothing while there is none.
  std::optional<std::string> reading_text() const;

  /// What is needed to measure the drawing as it stands, independent of this object from then on. No pixel
  /// is copied. Nothing while something is missing (steps.hpp).
  std::optional<MeasureRequest> request(std::shared_ptr<const Criteria> criteria);

 private:
  Work() = default;
  void go_on_with(const std::filesystem::path& reading_file);
  void find_earlier(const std::optional<std::filesystem::path>& given);
  void recover();
  std::vector<std::filesystem::path> journal_files() const;
  void keep_in_journal(const Drawing& before, const Edit& edit);
  bool begin_journal(const Drawing& drawing);
  void clear_journal();
  void keep_unfinished(Sentence text);
  void give_way_to_others();
  void move_to(const std::filesystem::path& reading_file);
  std::optional<Reading> reading() const;

  std::shared_ptr<const Film> film_;
  WholeFilm whole_;
  std::filesystem::path film_file_, reading_file_;
  Saving saving_;
  Reading base_;  ///< what no edit changes: film, reader, unknown fields
  Drawing drawing_;
  std::optional<Drawing> on_disk_;  ///< what the reading on the disk holds, where there is one
  std::string disk_text_;           ///< and its bytes
  Sentence trouble_;                ///< the last thing that couldn't be written
  std::optional<Drawing> marks_set_aside_;
  std::optional<JournalWriter> journal_;
  std::uint64_t revision_ = 0;
  SaveState state_;
  std::vector<Sentence> happened_;
  CarriedSources carried_;
};

}  // namespace canalrule::desk
