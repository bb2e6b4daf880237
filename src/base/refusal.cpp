#include <canalrule/base/refusal.hpp>

#include <cstddef>
#include <string_view>
#include <utility>

namespace canalrule {

namespace {

/// How many bytes make up the printable character that begins here in UTF-8 (RFC 3629); 0 where none does.
std::size_t printable(std::string_view text) {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(text[at]); };
  const unsigned lead = byte(0);
  if (lead < 0x80) return lead < 0x20 || lead == 0x7f ? 0 : 1;
  if (lead < 0xc2 || lead > 0xf4) return 0;
  const std::size_t length = lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : 4;
  if (length > text.size()) return 0;
  for (std::size_t at = 1; at < length; ++at)
    if ((byte(at) & 0xc0U) != 0x80U) return 0;
  return length;
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
