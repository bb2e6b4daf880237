#pragma once

#include <string_view>

namespace canalrule {

/// ISO 3950:2016 (from memory): quadrants 1 to 4 with teeth 1 to 8, 5 to 8 (deciduous) with 1 to 5.
constexpr bool is_tooth(std::string_view tooth) {
  const bool two = tooth.size() == 2 && tooth[0] >= '1' && tooth[0] <= '8' && tooth[1] >= '1';
  return two && tooth[1] <= (tooth[0] <= '4' ? '8' : '5');
}

}  // namespace canalrule
