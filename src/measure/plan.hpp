#pragma once

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// The fill against what was planned for it; empty where nothing was. The cone's diameter at x mm from
/// its tip is the tip's plus taper times x (ISO 3630-1, from memory); its tip is taken to lie at the
/// fill's terminus.
AgainstPlan against_plan(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale,
                         double relative_scale);

}  // namespace canalrule
