#include "standard_output.hpp"

#include <cerrno>
#include <cstdio>
#include <system_error>

#include <canalrule/base/refusal.hpp>

namespace canalrule::command {

void print(std::string_view text) {
  errno = 0;
  if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0) return;
  throw Refusal(RefusalKind::unwritable_output, "standard output", "",
                "can't be written: " + std::system_category().message(errno), "");
}

}  // namespace canalrule::command
