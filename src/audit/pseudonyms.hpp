#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <utility>

namespace canalrule::audit {

enum class Person { operated_by, read_by, patient, case_of_folder };

/// Gives each person a pseudonym, "O-7K3M9QXA", by SHA-256 over a secret and the name: the same in every part
/// of an audit, and not to be turned back without the secret, which stands in the key file alone. The secret
/// is made from the case list, so that every part finds the same one; no output holds anything that it
/// follows from.
class Pseudonyms {
 public:
  /// With the secret of `key_file` where that is there, else with one made from the list's SHA-256.
  Pseudonyms(const std::filesystem::path& key_file, const std::string& list_sha256);
  /// The key as it lies in a file.
  static Pseudonyms in_file(const std::filesystem::path& key_file);

  /// Empty for an empty name. Operators, readers and cases are entered into the key, patients are not.
  /// Refuses (unusable_input) two names of one pseudonym (odds of 1 in 2 million among 1000 names).
  std::string of(Person person, const std::string& name);

  /// Tells one secret from another without giving it away.
  std::string mark() const;

  /// Takes over what the key of another part says. False where it has another secret.
  bool take_over(const Pseudonyms& other);

  /// Writes the key, who stands behind which pseudonym and the secret, as CSV; as far as the file system knows owners,
  /// nobody but the file's own reads it.
  void write_key(const std::filesystem::path& file) const;

 private:
  Pseudonyms() = default;
  std::string key_text() const;
  std::string secret_;
  std::map<std::string, std::pair<std::string, std::string>> known_;  ///< pseudonym to role and name
};

}  // namespace canalrule::audit
