#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <canalrule/record/criteria.hpp>

namespace canalrule::command {

/// A criteria file that came with the program.
struct ShippedCriteria {
  std::string name;  ///< what --criteria calls it: the file's name without its ending
  std::filesystem::path file;
};

/// The shipped criteria, by name: from `criteria/` beside the program (a build folder), else from the
/// installation's data folder. Empty where neither is there.
std::vector<ShippedCriteria> shipped_criteria(const std::filesystem::path& program);

/// The file that --criteria means: a path where it ends in ".json" or has a folder in it, else the name of a
/// shipped one. Refuses (wrong_use) a name that isn't shipped, with those that are.
std::filesystem::path criteria_file(const std::string& name_or_path, const std::filesystem::path& program);

}  // namespace canalrule::command
