#include "canal_scale.hpp"

#include <cmath>

namespace canalrule {

CanalScale canal_scale(const ScaleResult& scale, const ViewShare& view) {
  const double mm = scale.mm_per_pixel;
  CanalScale out;
  out.mm_per_px = mm;
  out.u_mm_per_px = scale.standard_uncertainty;
  out.view_along = view.along;
  out.relative_along = std::hypot(scale.standard_uncertainty / mm, view.along);
  out.across = scale.mm_per_pixel_across.value_or(Quantity{mm, scale.standard_uncertainty});
  out.relative_across = std::hypot(out.across.standard_uncertainty / out.across.value,
                                   scale.mm_per_pixel_across ? view.across : view.along);
  out.ratio = out.across.value / mm;
  out.u_ratio = scale.mm_per_pixel_across ? std::hypot(out.relative_across, out.relative_along) : view.taper;
  return out;
}

}  // namespace canalrule
