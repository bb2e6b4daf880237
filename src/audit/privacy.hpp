#pragma once

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/case_list.hpp>
#include <filesystem>
#include <string>
#include <string_view>

namespace canalrule::audit {

/// What a column of the case list is for.
enum class ColumnRole { case_name, reading, operated_by, read_by, patient, tooth, further, identifying };

/// By its name, without regard to upper and lower case. Identifying are columns whose name says, in English, that they
/// hold a patient's name, number, address or birth date, or a file's path (common practice, no source).
ColumnRole role_of(std::string_view column);

/// What a refusal says of a case, without a path, without the names of files that the reading refers to and
/// without what was found in the reading between quotes: a person's name may stand in each. "reading:
/// /image/file: there is no film …; it is looked for from the reading's own folder".
std::string reason_without_names(const Refusal& refusal, const std::filesystem::path& reading_file);

}  // namespace canalrule::audit
