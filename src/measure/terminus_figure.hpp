#pragma once

#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>

#include "canal_scale.hpp"
#include "follow.hpp"

namespace canalrule {

/// Where a fill ends and how far from the apex, with the parts of its uncertainty (JCGM 100:2008, 5.1.2).
/// `u_other_ends_mm`: what other ends as likely add to the fitted one's.
Terminus terminus_of(const CanalScale& scale, const CanalMarks& marks, const Followed& followed, const FillFit& fit,
                     double u_other_ends_mm);

/// Standard uncertainty, mm, of where the fill itself ends.
double outline_uncertainty_mm(const Terminus& terminus);

}  // namespace canalrule
