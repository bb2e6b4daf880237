#pragma once

#include <string>
#include <string_view>
#include <vector>

/// Teeth by ISO 3950 and the names that their canals usually get.
namespace canalrule::desk {

/// The chart as it is seen facing the patient, left to right: row 0 the upper permanent teeth (18 to 11, 21
/// to 28), row 1 the lower (48 to 41, 31 to 38), rows 2 and 3 the deciduous (55 to 65, 85 to 75).
std::vector<std::vector<std::string>> tooth_chart();

/// Names offered for the canals of a tooth, the usual ones first: abbreviations of the trade (MB mesiobuccal,
/// P palatal, ...); common practice, no source. For no tooth or an unknown one: "1", "2", "3", "4".
std::vector<std::string> canal_names(std::string_view tooth);

/// What an abbreviation stands for, e.g. "mesiobuccal"; empty for any other name.
std::string meaning_of(std::string_view name);

/// The first name offered that no canal bears yet; then numbers.
std::string free_canal_name(std::string_view tooth, const std::vector<std::string>& taken);

}  // namespace canalrule::desk
