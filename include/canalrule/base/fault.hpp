#pragma once

#include <source_location>

namespace canalrule {

/// Stops the program with a line that says which expectation of our own failed, and where. For what
/// can only be a mistake in this code, never for what a file or a person gave.
[[noreturn]] void fault(const char* expectation,
                        std::source_location place = std::source_location::current());

inline void ensure(bool held, const char* expectation,
                   std::source_location place = std::source_location::current()) {
  if (!held) fault(expectation, place);
}

}  // namespace canalrule
