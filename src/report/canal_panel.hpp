#pragma once

#include <canalrule/record/result.hpp>
#include <vector>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// What the unrolled canals share, so that they can be compared side by side.
struct UnrolledRange {
  double apical_mm = -1.0;     ///< the lower end, beyond the apex
  double coronal_mm = 5.0;     ///< the upper end
  double half_width_mm = 0.5;  ///< shown to each side of the axis
};
UnrolledRange unrolled_range(const Result& result);

/// One canal unrolled straight: distance from the apex upwards, the fill's width about the axis, what
/// was found in it, labels to its right. `index` names the layer.
Layer canal_panel(const CanalResult& canal, const Result& result, const UnrolledRange& range, const Box& box,
                  std::size_t index);

}  // namespace canalrule::report
