#pragma once

#include <canalrule/geometry/path.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// Standard uncertainty of an apex mark, mm, where the reading says nothing of it. An assumption: no published figure
/// for it was found (docs/method.md).
inline constexpr double assumed_apex_mark_mm = 0.05;

/// How well a person's apex mark is known along the canal: what the reading states, else the spread of its
/// repeated marks, else an assumption; the part's `basis` says which.
UncertaintyPart apex_mark(const CanalMarks& marks, const CanalPath& path, double mm_per_px);

}  // namespace canalrule
