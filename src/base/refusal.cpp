#include <canalrule/base/refusal.hpp>

#include <utility>

namespace canalrule {

namespace {

std::string one_line(const std::string& where, const std::string& field, const std::string& problem,
                     const std::string& remedy) {
  std::string line = where;
  if (!field.empty()) line += ": " + field;
  line += ": " + problem;
  if (!remedy.empty()) line += "; " + remedy;
  for (char& c : line)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = '?';
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
