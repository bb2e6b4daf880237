#pragma once

#include <cstdint>
#include <filesystem>

namespace canalrule::dicom {

/// Refuses, before DCMTK parses it, a file that would make it use up the memory or the stack:
/// a deflated data set (PS3.5 A.5) that unpacks to more than `limit_bytes`, or one cut off, and items
/// nested without end, which it follows by recursion. The nesting is bounded by the number of item tags.
void check_before_parsing(const std::filesystem::path& file, std::uint64_t limit_bytes);

}  // namespace canalrule::dicom
