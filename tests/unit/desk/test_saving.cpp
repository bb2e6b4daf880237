// Under which names readings are kept, so that none overwrites another's.
#include <canalrule/desk/saving.hpp>

#include <set>

#include <doctest/doctest.h>

#include <canalrule/base/whole_file.hpp>

#include "sample_case.hpp"

using namespace canalrule;
using namespace canalrule::desk;
using canalrule_test::TemporaryFolder;

namespace fs = std::filesystem;

namespace {

Saving by(const std::string& reader) {
  Saving saving;
  saving.reader = reader;
  return saving;
}

/// A reading of a film, by a reader, under a name.
fs::path put(const TemporaryFolder& folder, const std::string& name, const std::string& reader,
             const std::string& film, const std::optional<std::string>& sha256 = {}) {
  Reading reading;
  reading.image.file = film;
  reading.image.sha256 = sha256;
  reading.reader = reader;
  reading.canals.push_back({"1", {{1, 2}, {3, 4}}, {3, 4}, {}, {}, {}});
  return folder.write(name, write_reading(reading));
}

std::string name(const ReadingFile& found) { return found.file.filename().string(); }

const std::string hash(64, 'a'), other_hash(64, 'b');

}  // namespace

TEST_CASE("different readers have different parts of file names, safe on any system") {
  std::set<std::string> parts;
  for (const char* reader : {"A1", "A 1", "A%201", "A/1", "..", "A.1", "ä", "A1 "}) {
    const std::string part = file_name_part(reader);
    parts.insert(part);
    CHECK(part.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_%") ==
          std::string::npos);
  }
  CHECK(parts.size() == 8);
  CHECK(file_name_part("Reader_2-b") == "Reader_2-b");
}

TEST_CASE("a new reading's name says film, reader and blind pass") {
  const TemporaryFolder folder;
  const fs::path film = folder.path() / "molar.png";
  CHECK(name(reading_file_of(film, hash, by(""))) == "molar.reading.json");
  CHECK(name(reading_file_of(film, hash, by("A1"))) == "molar.A1.reading.json");
  Saving blind = by("A1");
  blind.blind_seed = 42;
  CHECK(name(reading_file_of(film, hash, blind)) == "molar.A1.pass-42.reading.json");
  Saving elsewhere = by("A1");
  elsewhere.folder = folder.path() / "readings";
  CHECK(reading_file_of(film, hash, elsewhere).file == folder.path() / "readings" / "molar.A1.reading.json");
  CHECK(journal_file_of("x/molar.A1.reading.json") == fs::path("x/molar.A1.unfinished.jsonl"));
  CHECK(spare_journal_file_of("x/a.reading.json", "s") != spare_journal_file_of("y/a.reading.json", "s"));
}

TEST_CASE("this reader's reading is found, another's is left alone") {
  const TemporaryFolder folder;
  const fs::path film = folder.write("molar.png", std::string("film"));
  put(folder, "molar.reading.json", "A1", "molar.png", hash);
  const ReadingFile first = reading_file_of(film, hash, by("A1"));
  CHECK(first.exists);
  CHECK(name(first) == "molar.reading.json");  // though its name doesn't say the reader
  const ReadingFile second = reading_file_of(film, hash, by("B2"));
  CHECK_FALSE(second.exists);
  CHECK(name(second) == "molar.B2.reading.json");
  const ReadingFile nobody = reading_file_of(film, hash, by(""));
  CHECK_FALSE(nobody.exists);
  CHECK(name(nobody) == "molar.png.reading.json");
  Saving blind = by("A1");
  blind.blind_seed = 1;
  CHECK_FALSE(reading_file_of(film, hash, blind).exists);  // an earlier reading isn't seen in a blind pass
}

TEST_CASE(
    "a reading that lies under the name but is another reader's, another film's or broken keeps its file") {
  const TemporaryFolder folder;
  const fs::path film = folder.write("molar.png", std::string("film"));
  folder.write("molar.dcm", std::string("film"));
  put(folder, "molar.A1.reading.json", "A1", "molar.dcm");
  const ReadingFile found = reading_file_of(film, hash, by("A1"));
  CHECK_FALSE(found.exists);
  CHECK(name(found) == "molar.png.A1.reading.json");
  put(folder, "molar.png.A1.reading.json", "a1", "molar.png");
  CHECK(name(reading_file_of(film, hash, by("A1"))) == "molar-aaaaaaaa.A1.reading.json");
  folder.write("molar-aaaaaaaa.A1.reading.json", std::string("{ broken"));
  folder.write("molar.png-aaaaaaaa.A1.reading.json", std::string("{ broken"));
  const ReadingFile last = reading_file_of(film, hash, by("A1"));
  CHECK(name(last) == "molar.png-aaaaaaaa-2.A1.reading.json");
  CHECK(last.unusable.find("molar-aaaaaaaa") != std::string::npos);
}

TEST_CASE("a reading of an earlier state of the film is told, and not taken for one of the film") {
  const TemporaryFolder folder;
  const fs::path film = folder.write("molar.png", std::string("film"));
  const fs::path old = put(folder, "molar.A1.reading.json", "A1", "molar.png", other_hash);
  const ReadingFile found = reading_file_of(film, hash, by("A1"));
  CHECK_FALSE(found.exists);
  CHECK(found.other_film == old);
  CHECK(found.file != old);
  CHECK(reading_file_of(film, "", by("A1")).exists);  // a list of films doesn't hash each
}
