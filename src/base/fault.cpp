#include <canalrule/base/fault.hpp>

#include <cstdio>
#include <cstdlib>

namespace canalrule {

void fault(const char* expectation, std::source_location place) {
  std::fprintf(stderr, "canalrule: a fault of the program itself: %s (%s:%u). Please report it.\n",
               expectation, place.file_name(), static_cast<unsigned>(place.line()));
  std::abort();
}

}  // namespace canalrule
