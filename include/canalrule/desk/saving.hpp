#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include <canalrule/record/reading.hpp>

/// Where readings are kept, and under which names, so that no reader's reading ever overwrites another's.
namespace canalrule::desk {

struct Saving {
  std::string reader;                           ///< who reads; may be empty
  std::optional<std::filesystem::path> folder;  ///< in place of the film's own
  /// A blind pass: its readings are kept apart from all others, by this seed.
  std::optional<std::uint64_t> blind_seed;
  std::optional<std::filesystem::path> file;  ///< the reading's own file, where a case list names it
  /// Where the journal is kept when the readings' folder can't be written to; none: then it isn't kept.
  std::optional<std::filesystem::path> spare_folder;
};

/// What a file name carries of a reader: letters, digits, - and _ as they are, every other byte as %XX, so
/// that different readers have different names.
std::string file_name_part(const std::string& reader);

/// The reading of a film in the folder that `saving` says: NAME.reading.json, NAME.READER.reading.json, or
/// NAME.READER.pass-SEED.reading.json in a blind pass. NAME is the film's name without its extension; with
/// it, or with the first digits of its SHA-256, where that name is taken by another film's or reader's
/// reading. `film_sha256` may be empty where the film wasn't opened (its hash is then not compared).
/// `exists`: there is such a reading of this film by this reader.
struct ReadingFile {
  std::filesystem::path file;
  bool exists = false;
  std::optional<std::filesystem::path> other_film;  ///< this reader's reading of an earlier state of the film
  std::string
      unusable;  ///< why a file under this reader's own name is no reading; then another name is taken
};
ReadingFile reading_file_of(const std::filesystem::path& film, const std::string& film_sha256,
                            const Saving& saving);

/// The same under the first name that no file has.
std::filesystem::path free_reading_file_of(const std::filesystem::path& film, const std::string& film_sha256,
                                           const Saving& saving);

/// The journal that belongs to a reading: NAME.unfinished.jsonl beside NAME.reading.json.
std::filesystem::path journal_file_of(const std::filesystem::path& reading_file);

/// Where the journal is kept in the spare folder: the same name, with digits of the reading's whole path.
std::filesystem::path spare_journal_file_of(const std::filesystem::path& reading_file,
                                            const std::filesystem::path& spare_folder);

}  // namespace canalrule::desk
