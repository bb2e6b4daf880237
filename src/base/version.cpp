#include <canalrule/base/version.hpp>

namespace canalrule {

std::string_view version() noexcept { return CANALRULE_VERSION; }

}  // namespace canalrule
