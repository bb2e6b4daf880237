#include <canalrule/base/fault.hpp>

#include <cstdio>
#include <cstdlib>

namespace canalrule {

void fault(const char* expectation, const char* file, unsigned line) {
  std::fprintf(stderr, "canalrule: a fault of the program itself: %s (%s:%u). Please report it.\n", expectation,
               file, line);
  std::abort();
}

}  // namespace canalrule
