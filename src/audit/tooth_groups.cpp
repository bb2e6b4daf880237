#include "tooth_groups.hpp"

#include <canalrule/record/tooth.hpp>

namespace canalrule::audit {

std::size_t tooth_group_of(const std::string& tooth) {
  constexpr std::size_t none = tooth_groups.size() - 1;
  if (!is_tooth(tooth)) return none;
  const int quadrant = tooth[0] - '0';
  const int place = tooth[1] - '0';
  const bool deciduous = quadrant >= 5;
  const bool upper = quadrant % 4 == 1 || quadrant % 4 == 2;
  if (deciduous) return (upper ? 6U : 8U) + (place <= 3 ? 0U : 1U);
  const std::size_t kind = place <= 3 ? 0 : place <= 5 ? 1 : 2;
  return (upper ? 0U : 3U) + kind;
}

}  // namespace canalrule::audit
