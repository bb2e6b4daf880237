#include <canalrule/base/refusal.hpp>

#include <utility>

#include <canalrule/base/utf8.hpp>

namespace canalrule {

namespace {

std::string one_line(const std::string& where, const std::string& field, const std::string& problem,
                     const std::string& remedy) {
  std::string line = where;
  if (!field.empty()) line += ": " + field;
  line += ": " + problem;
  if (!remedy.empty()) line += "; " + remedy;
  return printable_line(std::move(line));
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
