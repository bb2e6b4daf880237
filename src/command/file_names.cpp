#include "file_names.hpp"

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/utf8.hpp>
#include <canalrule/intake/open_film.hpp>
#include <fstream>
#include <system_error>

namespace canalrule::command {

namespace fs = std::filesystem;

std::string ending_of(const fs::path& file) {
  return lower_case(file.extension().string());
}

bool same_file(const fs::path& one, const fs::path& other) {
  std::error_code error;
  if (fs::equivalent(one, other, error)) return true;
  const fs::path first = fs::weakly_canonical(fs::absolute(one, error), error);
  const fs::path second = fs::weakly_canonical(fs::absolute(other, error), error);
  return !first.empty() && first == second;
}

bool holds_film(const fs::path& file) {
  std::error_code error;
  if (!fs::is_regular_file(file, error)) return false;
  try {
    if (!is_film(file)) return false;
    open_film(file);
    return true;
  } catch (const Refusal&) {
    return false;
  }
}

bool holds_no_result(const fs::path& file) {
  std::error_code error;
  if (!fs::is_regular_file(file, error) || fs::file_size(file, error) == 0 || error) return false;
  constexpr std::size_t enough = 256;  // the schema stands first in a result
  std::string head(enough, ' ');
  std::ifstream(file, std::ios::binary).read(head.data(), static_cast<std::streamsize>(head.size()));
  return head.find("canalrule.result/") == std::string::npos;
}

}  // namespace canalrule::command
