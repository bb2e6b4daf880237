#pragma once

#include <canalrule/geometry/path.hpp>
#include <canalrule/measure/scale.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

namespace canalrule {

/// Relative standard uncertainty of a length along an object that leans out of the film's plane unlike the
/// one that the scale was taken from: L' / L = cos(theta) (projection geometry), see view.cpp.
double tilt_share();

/// Whether an object of the scale lies in a canal. Of one that is seen, both ends of what of it lies abreast of the
/// path lie on that, or of a mere line the most of it does: one in another canal may come near, or cross it. What isn't
/// seen is taken for one in the canal where it comes anywhere as near to the path as one in it is drawn.
bool lies_in_canal(const KnownObject& object, const CanalPath& path, double mm_per_px);

/// How far the scale may be wrong for one canal because that canal doesn't lie as the scale's object does,
/// relative standard uncertainties. Nought where the object lies in or on the canal itself.
struct ViewShare {
  double along = 0.0;   ///< of lengths along the canal
  double across = 0.0;  ///< of widths
  double taper = 0.0;   ///< of a width over a length
};

/// `objects`: those of the reading's known lengths.
ViewShare view_share(const Reading& reading, const ScaleResult& scale, const std::vector<KnownObject>& objects,
                     const CanalPath& path);

}  // namespace canalrule
