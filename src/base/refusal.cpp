#include <canalrule/base/refusal.hpp>

#include <cstddef>
#include <string_view>
#include <utility>

#include <canalrule/base/utf8.hpp>

namespace canalrule {

namespace {

/// How many bytes make up the printable character that begins here in UTF-8; 0 where none does.
std::size_t printable(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  return first < 0x20U || first == 0x7FU ? 0 : utf8_length(text);
}

std::string one_line(const std::string& where, const std::string& field, const std::string& problem,
                     const std::string& remedy) {
  std::string line = where;
  if (!field.empty()) line += ": " + field;
  line += ": " + problem;
  if (!remedy.empty()) line += "; " + remedy;
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t length = printable(std::string_view(line).substr(at));
    if (length == 0) line[at] = '?';
    at += length == 0 ? 1 : length;
  }
  return line;
}

}  // namespace

Refusal::Refusal(RefusalKind kind, std::string where, std::string field, std::string what,
                 std::string remedy)
    : std::runtime_error(one_line(where, field, what, remedy)),
      kind_(kind),
      where_(std::move(where)),
      field_(std::move(field)),
      problem_(std::move(what)),
      remedy_(std::move(remedy)) {}

}  // namespace canalrule
