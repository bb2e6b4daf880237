#pragma once

#include <vector>

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// How far from the planned start of the backfill a void still lies there, mm. Chosen here;
/// tests/unit/measure/plan.cpp.
inline constexpr double at_backfill_mm = 0.5;

/// The fill against what was planned for it; empty where nothing was. The cone's diameter at x mm from
/// its tip is the tip's plus taper times x (ISO 3630-1, from memory); its tip is taken to lie at the
/// fill's terminus. What was planned and can't be told stands among `not_assessable` with its reason.
struct HeldAgainstPlan {
  AgainstPlan figures;
  std::vector<NotAssessable> not_assessable;
};
HeldAgainstPlan against_plan(const CanalMarks& marks, const CanalResult& canal, const ScaleResult& scale,
                             double relative_scale);

}  // namespace canalrule
