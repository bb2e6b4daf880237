#pragma once

#include <canalrule/record/result.hpp>

#include "view.hpp"

namespace canalrule {

/// What turns px of one canal into mm, and by how much it may be wrong there: the film's scale, and what the canal's
/// own view adds.
struct CanalScale {
  double mm_per_px = 0.0;        ///< along the canal
  double u_mm_per_px = 0.0;      ///< standard uncertainty of it, the view apart
  double view_along = 0.0;       ///< relative standard uncertainty from the view
  double relative_along = 0.0;   ///< relative standard uncertainty of a length along the canal
  Quantity across;               ///< mm per px across the canal
  double relative_across = 0.0;  ///< relative standard uncertainty of a width
  double ratio = 1.0;            ///< across over along: where one scale serves both it cancels in a taper
  double u_ratio = 0.0;          ///< relative standard uncertainty of it
};

CanalScale canal_scale(const ScaleResult& scale, const ViewShare& view);

}  // namespace canalrule
