#include "pseudonyms.hpp"

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/csv.hpp>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

namespace canalrule::audit {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view letters = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ";  // none that is taken for another
constexpr std::size_t length = 8;                                         // 40 bits; chosen here
constexpr std::string_view secret_row = "secret";
constexpr std::size_t secret_digits = 64;
constexpr std::uint64_t largest_key_bytes = 1U << 28U;

std::string digest(const std::string& text) {
  return sha256_hex(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

struct Role {
  const char* word;
  char letter;
};

Role role_of(Person person) {
  switch (person) {
    case Person::operated_by:
      return {"operator", 'O'};
    case Person::read_by:
      return {"reader", 'R'};
    case Person::patient:
      return {"patient", 'P'};
    default:
      return {"case", 'C'};
  }
}

[[noreturn]] void refuse_key(const fs::path& file, const std::string& what) {
  throw Refusal(RefusalKind::unusable_input, file.string(), "", what,
                "name the key file of an audit, or a new one to be made");
}

}  // namespace

Pseudonyms::Pseudonyms(const fs::path& key_file, const std::string& list_sha256) {
  std::error_code ignored;
  if (fs::exists(key_file, ignored))
    *this = in_file(key_file);
  else
    secret_ = digest("canalrule pseudonyms\n" + list_sha256);
}

Pseudonyms Pseudonyms::in_file(const fs::path& key_file) {
  const std::vector<std::uint8_t> bytes = read_whole(key_file, largest_key_bytes);
  const std::vector<CsvRow> rows = csv_rows({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, ',');
  Pseudonyms key;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const CsvRow& row = rows[i];
    if (!row.problem.empty() || row.fields.size() != 3)
      refuse_key(key_file, "line " + std::to_string(row.line) + " is no row of a key");
    if (row.fields[1] == secret_row)
      key.secret_ = row.fields[2];
    else
      key.known_[row.fields[0]] = {row.fields[1], text_of_csv(row.fields[2])};
  }
  if (key.secret_.size() != secret_digits)
    refuse_key(key_file, "this is no key of pseudonyms: it has no secret");
  return key;
}

std::string Pseudonyms::of(Person person, const std::string& name) {
  if (name.empty()) return "";
  const Role role = role_of(person);
  const std::string hash = digest(secret_ + '\n' + role.word + '\n' + name);
  std::string pseudonym{role.letter, '-'};
  std::uint64_t bits = std::stoull(hash.substr(0, 10), nullptr, 16);
  for (std::size_t i = 0; i < length; ++i, bits /= letters.size())
    pseudonym += letters[bits % letters.size()];
  if (person == Person::patient) return pseudonym;
  const auto [known, is_new] = known_.emplace(pseudonym, std::pair(std::string(role.word), name));
  if (!is_new && known->second.second != name)
    throw Refusal(RefusalKind::unusable_input, "pseudonyms", "",
                  "two names have come to the same pseudonym " + pseudonym,
                  "write one of the names in another way");
  return pseudonym;
}

std::string Pseudonyms::mark() const { return digest("mark\n" + secret_).substr(0, 16); }

bool Pseudonyms::take_over(const Pseudonyms& other) {
  if (other.secret_ != secret_) return false;
  known_.insert(other.known_.begin(), other.known_.end());
  return true;
}

std::string Pseudonyms::key_text() const {
  std::string text = csv_row({"pseudonym", "role", "name"});
  text += csv_row({"-", std::string(secret_row), secret_});
  for (const auto& [pseudonym, person] : known_)
    text += csv_row({pseudonym, person.first, csv_text(person.second)});
  return text;
}

void Pseudonyms::write_key(const std::filesystem::path& file) const {
  WholeFile key(file, ReadBy::owner);
  key.append(key_text());
  key.commit();
}

}  // namespace canalrule::audit
