#include <canalrule/base/fault.hpp>

#include <cstdio>
#include <cstdlib>

namespace canalrule {

namespace {
constexpr int own_fault = 70;  // EX_SOFTWARE of BSD's sysexits.h, from memory
}

void fault(const char* expectation, const char* file, unsigned line) {
  std::fprintf(stderr, "canalrule: a fault of the program itself: %s (%s:%u). Please report it.\n", expectation,
               file, line);
  std::_Exit(own_fault);
}

}  // namespace canalrule
