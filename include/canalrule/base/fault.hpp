#pragma once

namespace canalrule {

/// Stops the program, exit code 70, with a line that says which expectation of our own failed, and where. For what
/// can only be a mistake in this code, never for what a file or a person gave. (The compilers' own
/// words for the place: clang 14 has no std::source_location.)
[[noreturn]] void fault(const char* expectation, const char* file = __builtin_FILE(),
                        unsigned line = __builtin_LINE());

inline void ensure(bool held, const char* expectation, const char* file = __builtin_FILE(),
                   unsigned line = __builtin_LINE()) {
  if (!held) fault(expectation, file, line);
}

}  // namespace canalrule
