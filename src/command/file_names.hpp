#pragma once

#include <filesystem>
#include <string>

namespace canalrule::command {

/// The ending of a file's name in lower case, ".png".
std::string ending_of(const std::filesystem::path& file);

/// Whether two names lead to the same file, or would if both were written.
bool same_file(const std::filesystem::path& one, const std::filesystem::path& other);

/// Whether a film lies in a file: a grey PNG or DICOM that can be read, as a picture that the program draws can't.
bool holds_film(const std::filesystem::path& file);

/// Whether something else than an earlier result lies in a file, a person's marks or a list: it would be lost if a
/// result were written there.
bool holds_no_result(const std::filesystem::path& file);

}  // namespace canalrule::command
