#pragma once

#include <canalrule/geometry/path.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// How well a person's apex mark is known along the canal: what the reading states, else the spread of its
/// repeated marks, else an assumption; the part's `basis` says which.
UncertaintyPart apex_mark(const CanalMarks& marks, const CanalPath& path, double mm_per_px);

}  // namespace canalrule
