#pragma once

#include <atomic>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <string_view>

#include <canalrule/base/refusal.hpp>

namespace canalrule_test {

/// A folder of its own for a test, gone with it.
class TemporaryFolder {
 public:
  TemporaryFolder()
      : path_(std::filesystem::temp_directory_path() /
              ("canalrule-test-" + std::to_string(std::random_device{}()) + "-" + std::to_string(count_++))) {
    std::filesystem::create_directories(path_);
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }

  template <class Bytes>
  std::filesystem::path write(const std::string& name, const Bytes& bytes) const {
    std::ofstream out(path_ / name, std::ios::binary);
    out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    return path_ / name;
  }

 private:
  inline static std::atomic<int> count_ = 0;
  std::filesystem::path path_;
};

/// The refusal that a call throws; one with an empty message where it throws none.
template <class Call>
canalrule::Refusal refusal_of(Call call) {
  try {
    call();
  } catch (const canalrule::Refusal& refusal) {
    return refusal;
  }
  return {canalrule::RefusalKind::wrong_use, "", "", "nothing was refused", ""};
}

}  // namespace canalrule_test
