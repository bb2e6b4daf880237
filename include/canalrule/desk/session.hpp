#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/desk/saving.hpp>
#include <canalrule/desk/sentence.hpp>

/// Many films: a folder or a case list, what has been read of it, and in which order it is worked through.
namespace canalrule::desk {

enum class FilmStatus {
  not_read,
  unfinished,  ///< a journal with marks that aren't a reading yet
  read,
  not_assessable,  ///< the reader said so, with a reason
  failed           ///< film or reading can't be used
};

struct SessionFilm {
  std::string case_name;                        ///< of the list; the film's file name in a folder
  std::filesystem::path film;                   ///< empty where the case can't be opened
  std::filesystem::path reading;                ///< this reader's, existing or to be
  std::optional<std::filesystem::path> listed;  ///< the reading that the case list names
  FilmStatus status = FilmStatus::not_read;
  Sentence reason;   ///< of not_assessable and failed
  std::string note;  ///< the reading's
};

struct Session {
  std::filesystem::path source;
  Saving saving;
  std::vector<SessionFilm> films;  ///< in the order in which they are shown and worked through
};

/// Opens a film, a reading, a folder (its PNG and DICOM files, by name; not its subfolders) or a case list
/// (.csv, record/case_list.hpp: each case names its film in the column `film`, or its reading, which names the
/// film; with both, the reading to be made gets the name in the list). With saving.blind_seed the order is
/// shuffled by it (statistics/planning.hpp). Refuses (unusable_input) what is none of these, a folder without
/// films and a list without cases; one case of many that can't be used is `failed`.
Session open_session(const std::filesystem::path& source, const Saving& saving);

/// Looks again at one film's reading and journal on the disk.
void refresh(Session& session, std::size_t index);

/// What Work::open is given for a film of the session.
struct ToOpen {
  std::filesystem::path film_or_reading;
  Saving saving;
};
ToOpen to_open(const Session& session, std::size_t index);

/// What is shown for a film: its case's name, or "Film %1" (its place in the order) in a blind pass.
Sentence shown_name(const Session& session, std::size_t index);

/// The next and the previous film's index; nothing at the ends.
std::optional<std::size_t> next_film(const Session& session, std::size_t index);
std::optional<std::size_t> previous_film(const Session& session, std::size_t index);
/// The next film, going round, that is not read or unfinished; nothing where all are done.
std::optional<std::size_t> next_unread(const Session& session, std::size_t index);

struct SessionCount {
  std::size_t films = 0, read = 0, not_read = 0, unfinished = 0, not_assessable = 0, failed = 0;
};
SessionCount count(const Session& session);

}  // namespace canalrule::desk
