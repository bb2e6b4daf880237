// Many films: what has been read, in which order, and what a blind pass hides.
#include <canalrule/desk/session.hpp>

#include <algorithm>
#include <fstream>
#include <set>

#include <doctest/doctest.h>
#include <opencv2/core.hpp>

#include <canalrule/desk/work.hpp>
#include <canalrule/intake/open_film.hpp>

#include "temporary_folder.hpp"

using namespace canalrule;
using namespace canalrule::desk;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;

namespace fs = std::filesystem;

namespace {

class Films : public TemporaryFolder {
 public:
  explicit Films(int count) {
    for (int i = 0; i < count; ++i) {
      cv::Mat grey(60, 40, CV_8UC1);
      cv::randu(grey, 0, 255);
      write("film" + std::to_string(i) + ".png", encode_png(grey));
    }
  }
};

Saving by(const std::string& reader) {
  Saving saving;
  saving.reader = reader;
  return saving;
}

void read(const ToOpen& opened) {
  Work work = Work::open(opened.film_or_reading, opened.saving);
  work.apply(add_canal(work.drawing(), "1"));
  work.apply(set_line(work.drawing(), 0, {{20, 5}, {20, 50}}, LineSource::drawn));
  work.apply(MovePoint{{PointPlace::Of::apex, 0, 0}, {20, 52}});
  work.apply(SetNote{"read"});
  REQUIRE(work.save().saved == Saved::as_reading);
}

}  // namespace

TEST_CASE("a folder shows its films by name, and what has become of each") {
  const Films folder(5);
  folder.write("notes.txt", std::string("no film"));
  folder.write("looks.like", std::string("\x89PNG\r\n\x1A\n but isn't"));
  Session session = open_session(folder.path(), by("A1"));
  REQUIRE(session.films.size() == 6);
  CHECK(session.films[1].case_name == "film1.png");
  CHECK(count(session).not_read == 6);
  CHECK(plain(shown_name(session, 1)) == "film1.png");

  read(to_open(session, 0));
  {
    Work unfinished = Work::open(to_open(session, 1).film_or_reading, session.saving);
    unfinished.apply(add_canal(unfinished.drawing(), "1"));
    Work not_assessable = Work::open(to_open(session, 2).film_or_reading, session.saving);
    not_assessable.apply(SetNotAssessable{"blurred"});
    not_assessable.save();
  }
  folder.write("film3.A1.reading.json", std::string("{ broken"));
  for (std::size_t i = 0; i < session.films.size(); ++i) refresh(session, i);
  CHECK(session.films[0].status == FilmStatus::read);
  CHECK(session.films[0].note == "read");
  CHECK(session.films[1].status == FilmStatus::unfinished);
  CHECK(session.films[2].status == FilmStatus::not_assessable);
  CHECK(plain(session.films[2].reason) == "blurred");
  CHECK(session.films[3].status == FilmStatus::failed);
  CHECK(plain(session.films[3].reason).find("not JSON") != std::string::npos);
  CHECK(session.films[4].status == FilmStatus::not_read);
  const SessionCount counted = count(session);
  CHECK(counted.films == 6);
  CHECK(counted.read + counted.unfinished + counted.not_assessable + counted.failed + counted.not_read == 6);
  // Another reader has read none, and a new session sees the same.
  CHECK(count(open_session(folder.path(), by("B2"))).not_read == 6);
  CHECK(count(open_session(folder.path(), by("A1"))).read == 1);
}

TEST_CASE("next and previous stop at the ends; the next unread goes round") {
  const Films folder(3);
  Session session = open_session(folder.path(), by("A1"));
  CHECK(next_film(session, 0) == std::optional<std::size_t>(1));
  CHECK_FALSE(next_film(session, 2));
  CHECK_FALSE(previous_film(session, 0));
  CHECK(previous_film(session, 2) == std::optional<std::size_t>(1));
  read(to_open(session, 1));
  refresh(session, 1);
  CHECK(next_unread(session, 0) == std::optional<std::size_t>(2));
  CHECK(next_unread(session, 2) == std::optional<std::size_t>(0));
  for (const std::size_t i : {0U, 2U}) {
    read(to_open(session, i));
    refresh(session, i);
  }
  CHECK_FALSE(next_unread(session, 0));
}

TEST_CASE(
    "a blind pass hides names, earlier readings and readers, and is in the same order for the same seed") {
  const Films folder(8);
  Session open = open_session(folder.path(), by("A1"));
  for (std::size_t i = 0; i < 8; ++i) read(to_open(open, i));
  Saving saving = by("A1");
  saving.blind_seed = 2026;
  Session blind = open_session(folder.path(), saving);
  CHECK(count(blind).not_read == 8);
  std::vector<std::string> order;
  for (std::size_t i = 0; i < 8; ++i) {
    CHECK(plain(shown_name(blind, i)) == "Film " + std::to_string(i + 1));
    CHECK(blind.films[i].note.empty());
    order.push_back(blind.films[i].case_name);
  }
  CHECK_FALSE(std::is_sorted(order.begin(), order.end()));
  const Session again = open_session(folder.path(), saving);
  for (std::size_t i = 0; i < 8; ++i) CHECK(again.films[i].case_name == order[i]);
  read(to_open(blind, 0));
  refresh(blind, 0);
  CHECK(blind.films[0].status == FilmStatus::read);
  CHECK(count(open_session(folder.path(), by("A1"))).read == 8);  // the first readings stand
  saving.blind_seed = 2027;
  CHECK(count(open_session(folder.path(), saving)).not_read == 8);  // each pass by itself
}

TEST_CASE("a case list names films or readings, and one bad row costs no other") {
  const Films folder(4);
  read(to_open(open_session(folder.path() / "film0.png", by("A1")), 0));
  const fs::path list =
      folder.write("cases.csv", std::string("case,reading,film\n"
                                            "first,film0.A1.reading.json,\n"
                                            "second,readings/second.reading.json,film1.png\n"
                                            "third,,film2.png\n"
                                            "fourth,none.reading.json,\n"
                                            "fifth,,gone.png\n"
                                            "sixth,,\n"));
  fs::create_directory(folder.path() / "readings");
  Session session = open_session(list, by("A1"));
  REQUIRE(session.films.size() == 6);
  CHECK(session.films[0].status == FilmStatus::read);
  CHECK(plain(shown_name(session, 1)) == "second");
  CHECK(session.films[1].status == FilmStatus::not_read);
  CHECK(session.films[2].status == FilmStatus::not_read);
  for (const std::size_t i : {3U, 4U, 5U}) {
    CAPTURE(i);
    CHECK(session.films[i].status == FilmStatus::failed);
    CHECK_FALSE(session.films[i].reason.text.empty());
  }
  // The reading gets the name that the list gives it.
  read(to_open(session, 1));
  CHECK(fs::exists(folder.path() / "readings" / "second.reading.json"));
  refresh(session, 1);
  CHECK(session.films[1].status == FilmStatus::read);
  // Another reader's goes beside the film, and the list's stays.
  Session other = open_session(list, by("B2"));
  CHECK(other.films[0].status == FilmStatus::not_read);
  CHECK(other.films[1].reading == folder.path() / "film1.B2.reading.json");
}

TEST_CASE("a case list of films alone") {
  const Films folder(2);
  const fs::path list = folder.write("cases.csv", std::string("case;film\na;film1.png\nb;film0.png\n"));
  Session session = open_session(list, by("A1"));
  REQUIRE(session.films.size() == 2);
  CHECK(session.films[0].film == folder.path() / "film1.png");
  CHECK(count(session).not_read == 2);
  read(to_open(session, 0));
  CHECK(fs::exists(folder.path() / "film1.A1.reading.json"));
}

TEST_CASE("one film, one reading, and what is neither") {
  const Films folder(1);
  Session one = open_session(folder.path() / "film0.png", by("A1"));
  REQUIRE(one.films.size() == 1);
  read(to_open(one, 0));
  const Session by_reading = open_session(folder.path() / "film0.A1.reading.json", {});
  CHECK(by_reading.saving.reader == "A1");
  CHECK(by_reading.films.front().status == FilmStatus::read);
  const ToOpen opened = to_open(by_reading, 0);
  CHECK(Work::open(opened.film_or_reading, opened.saving).drawing().canals.size() == 1);

  CHECK(refusal_of([&] { open_session(folder.path() / "none", {}); }).problem().find("no such") !=
        std::string::npos);
  const TemporaryFolder empty;
  CHECK(refusal_of([&] { open_session(empty.path(), {}); }).problem().find("no PNG or DICOM") !=
        std::string::npos);
}
