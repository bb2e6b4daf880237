#pragma once

#include <filesystem>
#include <string>

namespace canalrule::audit {

/// What a measurement is made from, told without measuring.
struct Fingerprint {
  std::string key;  ///< of the program, the reading, the film and all that the scale is carried over from
  std::string reading_sha256;
  std::string film_sha256;
  std::string reader;  ///< as the reading names it
};

/// Refuses (unusable_input) a reading or film that is not there or can't be read. `program` are the versions
/// of all that what is found may depend on.
Fingerprint fingerprint_of(const std::filesystem::path& reading_file, const std::string& program);

}  // namespace canalrule::audit
