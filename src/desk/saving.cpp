#include <canalrule/desk/saving.hpp>

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>

namespace canalrule::desk {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t hash_digits = 8;  // chosen here: two films of one name and of these digits don't meet

constexpr const char* plain_ending = ".reading.json";

std::string ending_of(const Saving& saving) {
  std::string ending;
  if (!saving.reader.empty()) ending += "." + file_name_part(saving.reader);
  if (saving.blind_seed) ending += ".pass-" + std::to_string(*saving.blind_seed);
  return ending + plain_ending;
}

enum class Belongs { free, ours, other_state, others, unusable };

struct Whose {
  Belongs belongs = Belongs::free;
  std::string problem;  ///< of one that is unusable
};

/// Whose reading lies under a name.
Whose whose(const fs::path& file, const fs::path& film, const std::string& film_sha256,
            const Saving& saving) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(file, error))) return {};
  try {
    const Reading reading = load_reading(file);
    const fs::path named = file.parent_path() / reading.image.file;
    if (reading.reader != saving.reader) return {Belongs::others, {}};
    if (named.lexically_normal() != film.lexically_normal() && !fs::equivalent(named, film, error))
      return {Belongs::others, {}};
    if (reading.image.sha256 && !film_sha256.empty() && *reading.image.sha256 != film_sha256)
      return {Belongs::other_state, {}};
    return {Belongs::ours, {}};
  } catch (const Refusal& refusal) {
    return {Belongs::unusable, refusal.what()};
  }
}

/// The names that a film's reading may have, but for their ending, the usual one first.
std::vector<std::string> names_of(const fs::path& film, const std::string& film_sha256) {
  std::vector<std::string> names{film.stem().string(), film.filename().string()};
  if (!film_sha256.empty()) {
    const std::string digits = "-" + film_sha256.substr(0, hash_digits);
    names.push_back(film.stem().string() + digits);
    names.push_back(film.filename().string() + digits);
  }
  return names;
}

}  // namespace

std::string file_name_part(const std::string& reader) {
  constexpr std::string_view hexadecimal = "0123456789ABCDEF";
  std::string part;
  for (const char c : reader) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    if (plain) {
      part += c;
    } else {
      const auto byte = static_cast<unsigned char>(c);
      part += '%';
      part += hexadecimal[byte >> 4U];
      part += hexadecimal[byte & 0xFU];
    }
  }
  return part;
}

ReadingFile reading_file_of(const fs::path& film, const std::string& film_sha256, const Saving& saving) {
  const fs::path folder = saving.folder.value_or(film.parent_path());
  std::vector<std::string> endings{ending_of(saving)};
  // A reading that was made elsewhere may not carry its reader's name in its own.
  if (!saving.blind_seed && !saving.reader.empty()) endings.emplace_back(plain_ending);
  ReadingFile found;
  if (saving.file) {
    const Belongs belongs = whose(*saving.file, film, film_sha256, saving).belongs;
    found.exists = belongs == Belongs::ours;
    if (found.exists || belongs == Belongs::free) found.file = *saving.file;
    if (found.exists) return found;
  }
  for (const std::string& ending : endings)
    for (const std::string& name : names_of(film, film_sha256)) {
      const fs::path file = folder / (name + ending);
      const Whose which = whose(file, film, film_sha256, saving);
      if (which.belongs == Belongs::ours) {
        found.file = file;
        found.exists = true;
        return found;
      }
      if (which.belongs == Belongs::other_state && !found.other_film) found.other_film = file;
      if (which.belongs == Belongs::unusable && ending == endings.front() && found.unusable.empty())
        found.unusable = which.problem;
      if (which.belongs == Belongs::free && ending == endings.front() && found.file.empty())
        found.file = file;
    }
  if (found.file.empty()) found.file = free_reading_file_of(film, film_sha256, saving);
  return found;
}

fs::path free_reading_file_of(const fs::path& film, const std::string& film_sha256, const Saving& saving) {
  const fs::path folder = saving.folder.value_or(film.parent_path());
  std::error_code ignored;
  const auto is_free = [&](const fs::path& file) { return !fs::exists(fs::symlink_status(file, ignored)); };
  const std::vector<std::string> names = names_of(film, film_sha256);
  for (const std::string& name : names)
    if (const fs::path file = folder / (name + ending_of(saving)); is_free(file)) return file;
  for (int number = 2;; ++number) {
    const fs::path file = folder / (names.back() + "-" + std::to_string(number) + ending_of(saving));
    if (is_free(file)) return file;
  }
}

fs::path journal_file_of(const fs::path& reading_file) {
  std::string name = reading_file.filename().string();
  const std::string_view ending = plain_ending;
  if (name.ends_with(ending)) name.resize(name.size() - ending.size());
  return reading_file.parent_path() / (name + ".unfinished.jsonl");
}

fs::path spare_journal_file_of(const fs::path& reading_file, const fs::path& spare_folder) {
  const std::string whole = fs::absolute(reading_file).lexically_normal().string();
  const std::string digits =
      sha256_hex(std::span(reinterpret_cast<const std::uint8_t*>(whole.data()), whole.size()));
  return spare_folder /
         (digits.substr(0, 2 * hash_digits) + "-" + journal_file_of(reading_file).filename().string());
}

}  // namespace canalrule::desk
