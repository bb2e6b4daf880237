#pragma once

#include <filesystem>
#include <string>

#include <canalrule/record/reading.hpp>

#include "temporary_folder.hpp"

namespace desk_test {

/// Copies of sample films, with or without their readings, in a folder of their own.
class SampleFolder : public canalrule_test::TemporaryFolder {
 public:
  std::filesystem::path film(const std::string& name) const { return copied(name); }
  std::filesystem::path reading(const std::string& name) const { return copied(name + ".reading.json"); }

 private:
  std::filesystem::path copied(const std::string& name) const {
    const std::filesystem::path from = std::filesystem::path(CANALRULE_SOURCE_DIR) / "sample-images" / name;
    std::filesystem::copy_file(from, path() / name);
    return path() / name;
  }
};

}  // namespace desk_test
