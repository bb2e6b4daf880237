#pragma once

#include <canalrule/grade/class_summary.hpp>
#include <optional>
#include <vector>

namespace canalrule {

/// Which other reading of a case is compared with the teacher's.
using OtherReading = std::optional<MarkedReading> ClassCase::*;

ReadingsComparison compare(const std::vector<ClassCase>& cases, const Rubric& rubric, OtherReading other);

/// What another rubric gave before; missing where no case has such a mark.
std::optional<Regrade> compare_rubrics(const std::vector<ClassCase>& cases);

/// Whether a mark in percent changes beyond rounding, or the standing does.
bool differs(const Mark& before, const Mark& after);

}  // namespace canalrule
