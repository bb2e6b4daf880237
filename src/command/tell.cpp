#include "tell.hpp"

#include <algorithm>
#include <cstdio>
#include <string>

namespace canalrule::command {

ExitCode tell(const Refusal& refusal) {
  std::fprintf(stderr, "canalrule: %s\n", refusal.what());
  switch (refusal.kind()) {
    case RefusalKind::wrong_use: return ExitCode::wrong_use;
    case RefusalKind::unusable_input:
    case RefusalKind::unusable_machine: return ExitCode::unusable_input;
    case RefusalKind::unwritable_output: return ExitCode::unwritable_output;
  }
  return ExitCode::own_fault;
}

void tell_fault(std::string_view what) {
  std::string line(what);
  std::ranges::replace(line, '\n', ' ');
  std::fprintf(stderr, "canalrule: a fault of the program itself: %s. Please report it.\n", line.c_str());
}

}  // namespace canalrule::command
