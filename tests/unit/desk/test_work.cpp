// One film on the desk: saved whole or not at all, recovered after a kill, never over another's reading.
#include <canalrule/desk/work.hpp>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/intake/open_film.hpp>

#include "child.hpp"
#include "random_drawings.hpp"
#include "sample_case.hpp"

using namespace desk_test;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;

namespace fs = std::filesystem;

namespace {

using Of = PointPlace::Of;

Saving by(const std::string& reader) {
  Saving saving;
  saving.reader = reader;
  return saving;
}

std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::string> files_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) names.push_back(entry.path().filename().string());
  std::sort(names.begin(), names.end());
  return names;
}

/// A small film of its own, opened quickly.
class SmallFilm : public TemporaryFolder {
 public:
  SmallFilm() { change_film(0); }
  fs::path film() const { return path() / "film.png"; }
  void change_film(int shade) const {
    cv::Mat grey(120, 80, CV_16UC1);
    for (int row = 0; row < grey.rows; ++row)
      for (int column = 0; column < grey.cols; ++column)
        grey.at<std::uint16_t>(row, column) = static_cast<std::uint16_t>(100 * row + column + shade);
    write("film.png", encode_png(grey));
  }
};

void make_read_only(const fs::path& folder) {
  const auto writing = fs::perms::owner_write | fs::perms::group_write | fs::perms::others_write;
  fs::permissions(folder, fs::perms::all & ~writing);
}

void draw_canal(Work& work, const std::string& name = "D") {
  const std::size_t canal = work.drawing().canals.size();
  work.apply(add_canal(work.drawing(), name));
  work.apply(set_line(work.drawing(), canal, {{40, 10.125}, {41, 60}, {40, 100}}, LineSource::drawn));
  work.apply(MovePoint{{Of::apex, canal, 0}, {40, 104}});
}

}  // namespace

TEST_CASE("a drawing is saved beside its film, and is the same when it is opened again") {
  const SmallFilm folder;
  Drawing drawn;
  {
    Work work = Work::open(folder.film(), by("A1"));
    CHECK(work.save_state().saved == Saved::nothing_drawn);
    CHECK(work.save().saved == Saved::nothing_drawn);
    CHECK(files_in(folder.path()) == std::vector<std::string>{"film.png"});
    draw_canal(work);
    CHECK(work.save_state().saved == Saved::in_journal);
    CHECK(work.save().saved == Saved::as_reading);
    CHECK(plain(work.save_state().text) == "Saved in film.A1.reading.json.");
    drawn = work.drawing();
  }
  CHECK(files_in(folder.path()) == std::vector<std::string>{"film.A1.reading.json", "film.png"});
  const Reading reading = load_reading(folder.path() / "film.A1.reading.json");
  CHECK(reading.reader == "A1");
  CHECK(reading.image.file == "film.png");
  CHECK(reading.image.rows == 120);
  CHECK(reading.image.sha256 == sha256_hex(read_whole(folder.film(), 1U << 20U)));
  Work again = Work::open(folder.film(), by("A1"));
  CHECK(again.drawing() == drawn);
  CHECK(again.save_state().saved == Saved::as_reading);
  CHECK(again.happened().empty());
}

TEST_CASE("any drawing survives saving and opening, unfinished marks included") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const SmallFilm folder;
    Random random(seed);
    Drawing drawn;
    {
      Work work = Work::open(folder.film(), by("A1"));
      for (int i = 0; i < 12; ++i) {
        Edit edit = random.edit(work.drawing());
        work.apply(edit);
        if (random.one_in(4)) work.save();
      }
      work.save();
      drawn = work.drawing();
    }
    Work again = Work::open(folder.film(), by("A1"));
    // On the desk other readings go by their whole paths; unfinished ones stand in the journal as they were.
    Drawing found = again.drawing();
    for (ScaleDrawn& mark : found.scale)
      if (!mark.from_reading.empty()) mark.from_reading = fs::path(mark.from_reading).filename().string();
    REQUIRE(found == drawn);
    // Opening and saving without a change writes nothing new.
    const fs::path reading = again.reading_file();
    const std::string before = fs::exists(reading) ? bytes_of(reading) : "";
    again.save();
    REQUIRE((fs::exists(reading) ? bytes_of(reading) : "") == before);
  }
}

TEST_CASE("a reading that came from elsewhere keeps its unknown fields, and its bytes until it is changed") {
  const SmallFilm folder;
  const std::string text = R"({"schema": "canalrule.reading/1", "image": {"file": "film.png", "station": 7},
    "reader": "A1", "unit": {"chair": "3"},
    "canals": [{"name": "D", "path": [[40, 10], [40, 100]], "apex": [40, 104], "colour": "x"}]})";
  const fs::path file = folder.write("some.reading.json", text);
  Work work = Work::open(file, {});
  CHECK(work.reader() == "A1");
  work.save();
  CHECK(bytes_of(file) == text);
  work.apply(MovePoint{{Of::canal, 0, 0}, {42, 10}});
  REQUIRE(work.save().saved == Saved::as_reading);
  const std::string saved = bytes_of(file);
  for (const char* kept : {"\"station\": 7", "\"chair\": \"3\"", "\"colour\": \"x\""})
    CHECK(saved.find(kept) != std::string::npos);
  // Taken back: the marks are again those it came with.
  work.apply(MovePoint{{Of::canal, 0, 0}, {40, 10}});
  work.save();
  CHECK(load_reading(file).canals[0].path[0] == Point{40, 10});
}

TEST_CASE("a second reader begins anew, in a file of their own, and the first's stays as it is") {
  const SmallFilm folder;
  Work first = Work::open(folder.film(), by("A1"));
  draw_canal(first);
  first.save();
  const std::string theirs = bytes_of(first.reading_file());
  for (const fs::path& opened : {folder.film(), first.reading_file()}) {
    Work second = Work::open(opened, by("B2"));
    CHECK(second.reader() == "B2");
    CHECK(second.drawing() == Drawing{});
    draw_canal(second, "P");
    REQUIRE(second.save().saved == Saved::as_reading);
    CHECK(second.reading_file() == folder.path() / "film.B2.reading.json");
    CHECK(bytes_of(first.reading_file()) == theirs);
    fs::remove(second.reading_file());
  }
}

TEST_CASE("a killed process is recovered: every edit that was made is there") {
  const SmallFilm folder;
  for (int edits = 1; edits <= 40; edits += 13) {
    CAPTURE(edits);
    Drawing expected;
    const auto draw = [&](Work& work) {
      Random random(static_cast<std::uint64_t>(edits));
      for (int i = 0; i < edits; ++i) {
        const Edit edit = random.edit(work.drawing());
        work.apply(edit);
      }
    };
    {
      const SmallFilm same;
      Work work = Work::open(same.film(), by("A1"));
      draw(work);
      expected = work.drawing();
    }
    killed_after([&] {
      Work work = Work::open(folder.film(), by("A1"));
      draw(work);
    });
    CHECK(files_in(folder.path()) == std::vector<std::string>{"film.A1.unfinished.jsonl", "film.png"});
    Work again = Work::open(folder.film(), by("A1"));
    CHECK(again.drawing() == expected);
    if (expected != Drawing{}) {
      REQUIRE(again.happened().size() == 1);
      CHECK(plain(again.happened()[0]).find("recovered") != std::string::npos);
    }
    // Another reader sees nothing of it.
    CHECK(Work::open(folder.film(), by("B2")).drawing() == Drawing{});
    fs::remove(folder.path() / "film.A1.unfinished.jsonl");
  }
}

TEST_CASE("what was drawn after the last save is recovered over the reading") {
  const SmallFilm folder;
  killed_after([&] {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    work.save();
    work.apply(MovePoint{{Of::canal, 0, 1}, {45, 61}});
  });
  Work again = Work::open(folder.film(), by("A1"));
  CHECK(again.drawing().canals[0].path[1] == Point{45, 61});
  CHECK(again.save_state().saved == Saved::in_journal);
  CHECK(again.save().saved == Saved::as_reading);
  CHECK(load_reading(again.reading_file()).canals[0].path[1] == Point{45, 61});
  CHECK(files_in(folder.path()) == std::vector<std::string>{"film.A1.reading.json", "film.png"});
}

TEST_CASE("a read-only folder: what happened is said, and the marks are kept in the spare folder") {
  const SmallFilm folder;
  const TemporaryFolder spare;
  make_read_only(folder.path());
  fs::permissions(spare.path(), fs::perms::all);
  const std::string failed = in_child([&] {
    as_nobody();
    Saving saving = by("A1");
    saving.spare_folder = spare.path() / "desk";
    Drawing drawn;
    {
      Work work = Work::open(folder.film(), saving);
      draw_canal(work);
      hold(work.save_state().saved == Saved::in_spare_journal, "kept while drawing");
      const SaveState& state = work.save();
      hold(state.saved == Saved::in_spare_journal, "kept when saving");
      hold(plain(state.text).find("ermission denied") != std::string::npos, plain(state.text));
      drawn = work.drawing();
    }
    Work again = Work::open(folder.film(), saving);
    hold(again.drawing() == drawn && again.happened().size() == 1, "recovered");
    // In a folder that can be written to it is saved, and nothing is left behind.
    hold(again.save_in(spare.path()).saved == Saved::as_reading, plain(again.save_state().text));
    hold(fs::is_empty(spare.path() / "desk"), "the spare journal is gone");
    const Reading reading = load_reading(spare.path() / "film.A1.reading.json");
    hold(fs::equivalent(spare.path() / reading.image.file, folder.film()), "the film is named from there");
  });
  fs::permissions(folder.path(), fs::perms::owner_all);
  CHECK(failed == "");
  CHECK(files_in(folder.path()) == std::vector<std::string>{"film.png"});
}

TEST_CASE("without a spare folder the marks stay in memory, and are saved once that is possible again") {
  const SmallFilm folder;
  make_read_only(folder.path());
  const std::string failed = in_child([&] {
    const uid_t superuser = geteuid();
    if (superuser == 0) hold(seteuid(65534) == 0, "rights given up");
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    hold(work.save().saved == Saved::nowhere, "nowhere to save");
    hold(plain(work.save_state().text).find("in memory only") != std::string::npos,
         plain(work.save_state().text));
    if (superuser == 0) hold(seteuid(superuser) == 0, "rights taken again");
    fs::permissions(folder.path(), fs::perms::owner_all);
    hold(work.save().saved == Saved::as_reading && work.drawing().canals.size() == 1, "saved after all");
  });
  fs::permissions(folder.path(), fs::perms::owner_all);
  CHECK(failed == "");
}

TEST_CASE("a disk that is full: the reading on it stays whole, and nothing drawn is lost") {
  const SmallFilm folder;
  std::string before;
  {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    work.save();
    before = bytes_of(work.reading_file());
  }
  const std::string failed = in_child([&] {
    Work work = Work::open(folder.film(), by("A1"));
    disk_full_beyond(before.size() + 200);
    // A reading that is longer than what there is room for.
    Polyline line;
    for (int i = 0; i < 60; ++i) line.push_back({40.0 + 0.123456789 * i, 10.0 + i});
    work.apply(set_line(work.drawing(), 0, line, LineSource::drawn));
    const SaveState& state = work.save();
    hold(state.saved == Saved::nowhere, "no room for reading or journal");
    hold(plain(state.text).find("File too large") != std::string::npos, plain(state.text));
    hold(bytes_of(work.reading_file()) == before, "the reading on the disk stays");
    hold(work.drawing().canals[0].path == line, "the drawing stays");
    disk_full_beyond(RLIM_INFINITY);  // room again
    hold(work.save().saved == Saved::as_reading, plain(work.save_state().text));
    hold(load_reading(work.reading_file()).canals[0].path == line, "all is saved");
  });
  CHECK(failed == "");
  CHECK(files_in(folder.path()) == std::vector<std::string>{"film.A1.reading.json", "film.png"});
}

TEST_CASE("a journal that is cut by a full disk ends with a whole edit, and goes on when there is room") {
  const SmallFilm folder;
  const std::string failed = in_child([&] {
    Work work = Work::open(folder.film(), by("A1"));
    work.apply(add_canal(work.drawing(), "D"));
    const fs::path journal = folder.path() / "film.A1.unfinished.jsonl";
    disk_full_beyond(fs::file_size(journal) + 120);
    for (int i = 0; i < 60; ++i) work.apply(InsertPoint{{Of::canal, 0, 0}, {40.123456, 10.0 + i}});
    hold(work.save_state().saved == Saved::nowhere, plain(work.save_state().text));
    hold(!parse_journal(bytes_of(journal), "j").cut_short, "the journal ends with a whole edit");
    disk_full_beyond(RLIM_INFINITY);
    work.apply(SetNote{"room again"});
    hold(work.save_state().saved == Saved::in_journal, plain(work.save_state().text));
    hold(replay(parse_journal(bytes_of(journal), "j")) == work.drawing(), "the journal holds everything");
  });
  CHECK(failed == "");
}

TEST_CASE("a film that has changed since: its marks are set aside, never applied by themselves") {
  const SmallFilm folder;
  Drawing drawn;
  {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    work.save();
    drawn = work.drawing();
  }
  const fs::path old = folder.path() / "film.A1.reading.json";
  const std::string before = bytes_of(old);
  folder.change_film(1);
  for (const fs::path& opened : {folder.film(), old}) {
    Work work = Work::open(opened, by("A1"));
    CHECK(work.drawing() == Drawing{});
    REQUIRE(work.happened().size() == 1);
    CHECK(plain(work.happened()[0]).find("has changed since film.A1.reading.json") != std::string::npos);
    REQUIRE(work.marks_set_aside());
    CHECK(*work.marks_set_aside() == drawn);
    // Taken over by the person, it is a reading of the film as it is; the old one stays.
    const Change taken = work.apply(SetDrawing{*work.marks_set_aside()});
    CHECK(work.save().saved == Saved::as_reading);
    CHECK(work.reading_file() != old);
    CHECK(bytes_of(old) == before);
    CHECK(load_reading(work.reading_file()).image.sha256 == work.film().sha256);
    work.apply(taken.back);
    CHECK(work.drawing() == Drawing{});
    fs::remove(work.reading_file());
    fs::remove(journal_file_of(work.reading_file()));
  }
}

TEST_CASE("unfinished marks on a film that has changed are set aside too") {
  const SmallFilm folder;
  Drawing drawn;
  killed_after([&] {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
  });
  folder.change_film(1);
  Work work = Work::open(folder.film(), by("A1"));
  CHECK(work.drawing() == Drawing{});
  REQUIRE(work.marks_set_aside());
  CHECK(work.marks_set_aside()->canals.size() == 1);
  CHECK(fs::exists(folder.path() / "film.A1.unfinished-1.jsonl"));
}

TEST_CASE("a journal that can't be read is kept, and said") {
  const SmallFilm folder;
  folder.write("film.A1.unfinished.jsonl", std::string("rubbish\n"));
  Work work = Work::open(folder.film(), by("A1"));
  CHECK(work.drawing() == Drawing{});
  REQUIRE(work.happened().size() == 1);
  CHECK(plain(work.happened()[0]).find("film.A1.unfinished-1.jsonl") != std::string::npos);
  draw_canal(work);
  work.save();
  CHECK(bytes_of(folder.path() / "film.A1.unfinished-1.jsonl") == "rubbish\n");
}

TEST_CASE("a reading that somebody else changed while it was open is not overwritten") {
  const SmallFilm folder;
  Work work = Work::open(folder.film(), by("A1"));
  draw_canal(work);
  work.save();
  const fs::path first = work.reading_file();
  Work other = Work::open(folder.film(), by("A1"));
  other.apply(SetNote{"by somebody else"});
  other.save();
  const std::string theirs = bytes_of(first);
  work.apply(MovePoint{{Of::canal, 0, 0}, {44, 11}});
  REQUIRE(work.save().saved == Saved::as_reading);
  CHECK(bytes_of(first) == theirs);
  CHECK(work.reading_file() != first);
  CHECK(load_reading(work.reading_file()).canals[0].path[0] == Point{44, 11});
  REQUIRE(work.happened().size() == 1);
  CHECK(plain(work.happened()[0]).find("changed by somebody else") != std::string::npos);
}

TEST_CASE("a journal older than a reading that somebody else changed is set aside") {
  const SmallFilm folder;
  {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    work.save();
    work.apply(SetNote{"not yet saved"});
  }
  const fs::path reading = folder.path() / "film.A1.reading.json";
  std::string text = bytes_of(reading);
  text.insert(text.find("\"canals\""), "\"note\": \"edited by hand\", ");
  folder.write("film.A1.reading.json", text);
  fs::last_write_time(reading, fs::last_write_time(journal_file_of(reading)) + std::chrono::seconds(5));
  Work again = Work::open(folder.film(), by("A1"));
  CHECK(again.drawing().note == "edited by hand");
  REQUIRE(again.marks_set_aside());
  CHECK(again.marks_set_aside()->note == "not yet saved");
  CHECK(again.happened().size() == 1);
}

TEST_CASE("a film that is not assessable is saved with its reason, without a canal") {
  const SmallFilm folder;
  Work work = Work::open(folder.film(), by("A1"));
  work.apply(SetNotAssessable{"the apex is off the film"});
  work.apply(SetNote{"take care"});
  REQUIRE(work.save().saved == Saved::as_reading);
  const Reading reading = load_reading(work.reading_file());
  CHECK(reading.not_assessable == "the apex is off the film");
  CHECK(reading.note == "take care");
  CHECK(reading.canals.empty());
  CHECK_FALSE(work.request(nullptr));
  const Refusal refused = refusal_of([&] { open_case(work.reading_file()); });
  CHECK(refused.field() == "/not_assessable");
  CHECK(refused.problem().find("the apex is off the film") != std::string::npos);
}

TEST_CASE("a value that no reading takes is not written to one, and not lost") {
  const SmallFilm folder;
  Drawing drawn;
  {
    Work work = Work::open(folder.film(), by("A1"));
    draw_canal(work);
    work.save();
    work.apply(set_planned(work.drawing(), 0, Planned{{}, 6.0, {}, {}}));  // a taper of 6 mm per mm
    CHECK(work.save().saved == Saved::in_journal);
    CHECK(plain(work.save_state().text).find("/canals/0/planned/taper") != std::string::npos);
    drawn = work.drawing();
  }
  CHECK_FALSE(load_reading(folder.path() / "film.A1.reading.json").canals[0].planned);
  Work again = Work::open(folder.film(), by("A1"));
  CHECK(again.drawing() == drawn);
  again.apply(set_planned(again.drawing(), 0, Planned{{}, 0.06, {}, {}}));
  CHECK(again.save().saved == Saved::as_reading);
}

TEST_CASE("in a blind pass earlier readings and marks are not seen") {
  const SmallFilm folder;
  Work work = Work::open(folder.film(), by("A1"));
  draw_canal(work);
  work.save();
  Saving blind = by("A1");
  blind.blind_seed = 9;
  for (const fs::path& opened : {folder.film(), work.reading_file()}) {
    Work again = Work::open(opened, blind);
    CHECK(again.drawing() == Drawing{});
    CHECK(again.happened().empty());
    CHECK(again.reading_file() == folder.path() / "film.A1.pass-9.reading.json");
  }
}

TEST_CASE("what can't be opened is refused as the film or the reading is") {
  const SmallFilm folder;
  CHECK(refusal_of([&] { Work::open(folder.path() / "none.png", {}); }).kind() ==
        RefusalKind::unusable_input);
  CHECK(refusal_of([&] { Work::open(folder.write("bad.reading.json", std::string("{")), {}); })
            .problem()
            .find("not JSON") != std::string::npos);
  const fs::path lost = folder.write(
      "lost.reading.json", std::string(R"({"schema": "canalrule.reading/1", "image": {"file": "gone.png"},
      "canals": [{"name": "D", "path": [[1, 1], [9, 9]], "apex": [9, 9]}]})"));
  CHECK(refusal_of([&] { Work::open(lost, {}); }).field() == "/image/file");
}
