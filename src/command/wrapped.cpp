#include "wrapped.hpp"

#include <sstream>

namespace canalrule::command {

namespace {

constexpr std::size_t columns = 80;  // of a terminal, by convention

}  // namespace

std::string wrapped(const std::string& text, const std::string& indent) {
  std::istringstream words(text);
  std::string lines;
  std::string line;
  for (std::string word; words >> word;) {
    if (!line.empty() && line.size() + 1 + word.size() > columns) {
      lines += line + '\n';
      line.clear();
    }
    line += (line.empty() ? indent : " ") + word;
  }
  return line.empty() ? lines : lines + line + '\n';
}

}  // namespace canalrule::command
