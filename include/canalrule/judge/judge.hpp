#pragma once

#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// Applies criteria to every canal of a result, by the decision rule of JCGM 106:2012: within where
/// the probability of conforming is at least `confidence`, outside where it is at most 1 - confidence,
/// else too close to call; not assessable where the figure is missing.
Judged judge(const Result& result, const Criteria& criteria);

}  // namespace canalrule
