#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

namespace canalrule::audit {

/// Groups of teeth by jaw and kind, after the two digits of ISO 3950: quadrants 1 and 2 upper, 3 and 4 lower,
/// 5 to 8 the same of deciduous teeth; of these 1 to 3 anterior, 4 and 5 molars; of permanent ones 4 and 5
/// premolars, 6 to 8 molars.
inline constexpr std::array<std::string_view, 11> tooth_groups{"upper anterior",
                                                               "upper premolar",
                                                               "upper molar",
                                                               "lower anterior",
                                                               "lower premolar",
                                                               "lower molar",
                                                               "upper deciduous anterior",
                                                               "upper deciduous molar",
                                                               "lower deciduous anterior",
                                                               "lower deciduous molar",
                                                               ""};

/// Place in tooth_groups; the last, without a name, for a text that is no tooth of ISO 3950.
std::size_t tooth_group_of(const std::string& tooth);

}  // namespace canalrule::audit
