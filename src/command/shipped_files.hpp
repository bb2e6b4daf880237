#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace canalrule::command {

/// What comes with the program as files that a person may read, copy and change.
enum class ShippedKind { criteria, rubrics, feedback };

/// A file that came with the program.
struct ShippedFile {
  std::string name;  ///< what an option calls it: the file's name without its ending
  std::filesystem::path file;
};

/// The shipped files of a kind, by name: from the kind's folder beside the program (a build folder), else
/// from the installation's data folder. Empty where neither is there.
std::vector<ShippedFile> shipped_files(ShippedKind kind, const std::filesystem::path& program);

/// Where a file is asked for by name or path.
struct AskedFile {
  std::string subcommand;  ///< for refusals
  std::string option;      ///< "--criteria"
  std::string name_or_path;
};

/// The file that is meant: a path where it ends in ".json" or has a folder in it, else the name of a shipped
/// one. Refuses (wrong_use) a name that isn't shipped, with those that are.
std::filesystem::path shipped_file(ShippedKind kind, const AskedFile& asked,
                                   const std::filesystem::path& program);

}  // namespace canalrule::command
