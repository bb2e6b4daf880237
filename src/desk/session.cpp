#include <canalrule/base/utf8.hpp>
#include <canalrule/desk/session.hpp>

#include <algorithm>
#include <system_error>
#include <utility>

#include <canalrule/base/refusal.hpp>
#include <canalrule/intake/open_film.hpp>
#include <canalrule/record/case_list.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/statistics/planning.hpp>

namespace canalrule::desk {

namespace fs = std::filesystem;

namespace {

bool looks_like_film(const fs::path& file) {
  try {
    return is_film(file);
  } catch (const Refusal&) {
    return false;
  }
}

std::vector<SessionFilm> films_of_folder(const fs::path& folder) {
  std::vector<SessionFilm> films;
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
    std::error_code ignored;
    const fs::path& file = entry->path();
    if (file.filename().string().starts_with('.') || !entry->is_regular_file(ignored) ||
        !looks_like_film(file))
      continue;
    films.emplace_back();
    films.back().case_name = file.filename().string();
    films.back().film = file;
  }
  if (error)
    throw Refusal(RefusalKind::unusable_input, folder.string(), "", "can't be read: " + error.message(),
                  "check its permissions");
  if (films.empty())
    throw Refusal(RefusalKind::unusable_input, folder.string(), "",
                  "no PNG or DICOM film lies in this folder", "name a folder of films");
  std::sort(films.begin(), films.end(),
            [](const SessionFilm& a, const SessionFilm& b) { return a.case_name < b.case_name; });
  return films;
}

/// A film by the reading that names it.
void take_reading(SessionFilm& film, const fs::path& reading) {
  film.listed = reading;
  try {
    film.film = reading.parent_path() / load_reading(reading).image.file;
  } catch (const Refusal& refusal) {
    film.status = FilmStatus::failed;
    film.reason = {"%1", {refusal.what()}};
  }
}

SessionFilm film_of_row(const CaseList& list, const CaseListRow& row) {
  SessionFilm film;
  film.case_name = list.value(row, "case");
  const auto failed = [&](const std::string& why) {
    film.status = FilmStatus::failed;
    film.reason = {"Line %1: %2", {std::to_string(row.line), why}};
  };
  const std::string& named = list.value(row, "film");
  const bool reading_named = !list.value(row, "reading").empty();
  if (!row.problem.empty()) {
    failed(row.problem);
  } else if (!named.empty()) {
    film.film = list.folder / named;
    if (reading_named) film.listed = list.reading_of(row);
  } else if (reading_named) {
    take_reading(film, list.reading_of(row));
  } else {
    failed("the case names neither a reading nor a film");
  }
  return film;
}

bool has_ending(const fs::path& file, std::string_view ending) {
  return lower_case(file.extension().string()) == ending;
}

/// A case that can't be opened whatever is done; it isn't looked at again.
bool lost(const SessionFilm& film) { return film.film.empty(); }

Saving saving_of(const Session& session, const SessionFilm& film) {
  Saving saving = session.saving;
  if (film.listed && !saving.blind_seed && !saving.folder) saving.file = film.listed;
  return saving;
}

void look_again(const Session& session, SessionFilm& film) {
  film.note.clear();
  film.reason = {};
  film.status = FilmStatus::not_read;
  std::error_code ignored;
  if (!fs::exists(film.film, ignored)) {
    film.status = FilmStatus::failed;
    film.reason = {"There is no film %1.", {film.film.string()}};
    return;
  }
  const Saving saving = saving_of(session, film);
  const ReadingFile found = reading_file_of(film.film, "", saving);
  film.reading = found.file;
  std::vector<fs::path> journals{journal_file_of(found.file)};
  if (saving.spare_folder) journals.push_back(spare_journal_file_of(found.file, *saving.spare_folder));
  const bool journal = std::any_of(journals.begin(), journals.end(),
                                   [&](const fs::path& file) { return fs::exists(file, ignored); });
  if (found.exists) {
    const Reading reading = load_reading(found.file);
    film.note = reading.note;
    film.status = reading.not_assessable ? FilmStatus::not_assessable : FilmStatus::read;
    if (reading.not_assessable) film.reason = {"%1", {*reading.not_assessable}};
  } else if (!found.unusable.empty()) {
    film.status = FilmStatus::failed;
    film.reason = {"%1", {found.unusable}};
  }
  if (journal) film.status = FilmStatus::unfinished;
}

}  // namespace

Session open_session(const fs::path& source, const Saving& saving) {
  Session session;
  session.source = source;
  session.saving = saving;
  std::error_code ignored;
  if (fs::is_directory(source, ignored)) {
    session.films = films_of_folder(source);
  } else if (has_ending(source, ".csv")) {
    const CaseList list = load_case_list(source, {{}, CaseListNeeds::Readings::may_be_missing});
    for (const CaseListRow& row : list.rows) session.films.push_back(film_of_row(list, row));
  } else if (has_ending(source, ".json")) {
    const Reading reading = load_reading(source);
    if (session.saving.reader.empty()) session.saving.reader = reading.reader;
    session.films.emplace_back();
    session.films.front().case_name = source.filename().string();
    session.films.front().film = source.parent_path() / reading.image.file;
    session.films.front().listed = source;
  } else {
    if (!fs::exists(source, ignored))
      throw Refusal(RefusalKind::unusable_input, source.string(), "", "there is no such file or folder",
                    "name a film, a reading, a folder of films or a case list");
    session.films.emplace_back();
    session.films.front().case_name = source.filename().string();
    session.films.front().film = source;
  }
  if (saving.blind_seed) {
    std::vector<SessionFilm> in_order;
    const std::size_t films = session.films.size();
    for (const std::size_t i : statistics::draw_without_replacement(films, films, *saving.blind_seed))
      in_order.push_back(std::move(session.films[i]));
    session.films = std::move(in_order);
  }
  for (std::size_t i = 0; i < session.films.size(); ++i) refresh(session, i);
  return session;
}

void refresh(Session& session, std::size_t index) {
  SessionFilm& film = session.films.at(index);
  if (!lost(film)) look_again(session, film);
}

ToOpen to_open(const Session& session, std::size_t index) {
  const SessionFilm& film = session.films.at(index);
  return {film.film, saving_of(session, film)};
}

Sentence shown_name(const Session& session, std::size_t index) {
  if (session.saving.blind_seed) return {"Film %1", {std::to_string(index + 1)}};
  return {"%1", {session.films.at(index).case_name}};
}

std::optional<std::size_t> next_film(const Session& session, std::size_t index) {
  if (index + 1 >= session.films.size()) return std::nullopt;
  return index + 1;
}

std::optional<std::size_t> previous_film(const Session& session, std::size_t index) {
  if (index == 0 || session.films.empty()) return std::nullopt;
  return index - 1;
}

std::optional<std::size_t> next_unread(const Session& session, std::size_t index) {
  const std::size_t count = session.films.size();
  for (std::size_t step = 1; step <= count; ++step) {
    const std::size_t other = (index + step) % count;
    const FilmStatus status = session.films[other].status;
    if (status == FilmStatus::not_read || status == FilmStatus::unfinished) return other;
  }
  return std::nullopt;
}

SessionCount count(const Session& session) {
  SessionCount counted;
  counted.films = session.films.size();
  for (const SessionFilm& film : session.films) {
    switch (film.status) {
      case FilmStatus::not_read: ++counted.not_read; break;
      case FilmStatus::unfinished: ++counted.unfinished; break;
      case FilmStatus::read: ++counted.read; break;
      case FilmStatus::not_assessable: ++counted.not_assessable; break;
      case FilmStatus::failed: ++counted.failed; break;
    }
  }
  return counted;
}

}  // namespace canalrule::desk
