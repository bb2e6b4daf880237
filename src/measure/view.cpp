#include "view.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <variant>

namespace canalrule {

namespace {

/// Magnification is M = SID / (SID - d), so that a difference in depth between scale and canal changes it
/// by dM / M = delta / (SID - d) (projection geometry). Taken: canals of one tooth within +-3 mm of each
/// other along the beam, rectangular (chosen here), and 300 mm from the source.
const double depth_share = 3.0 / std::sqrt(3.0) / 300.0;

/// Leaning out of the film's plane, standard deviations: of a tooth against the film, and of two objects in
/// one tooth against each other. Taken as +-10 degrees, rectangular: up to so much no change of length is
/// seen (Heryanto, J Phys Conf Ser 2018).
const double lean = 10.0 / std::sqrt(3.0) * std::numbers::pi / 180.0;

/// What a lean alone shortens, 1 - cos(theta), as a root mean square: E(theta^4) of a rectangle is 9 / 5 of
/// its variance squared.
const double lean_share = 0.5 * lean * lean * std::sqrt(9.0 / 5.0);

/// Landmarks of a tooth, a cusp and the apex, lie 1.5 mm apart in depth, and two films look at them from
/// directions 5 degrees apart, standard deviations (chosen here): their distance differs by h sin(phi).
const double landmark_mm = 1.5 * std::sin(5.0 * std::numbers::pi / 180.0);

}  // namespace

bool lies_in_canal(const Polyline& object, const CanalPath& path, double mm_per_px) {
  constexpr int parts = 20;         // of each piece of the object
  constexpr double beside_mm = 1.0; // chosen here; tests/truth/together.cpp
  for (std::size_t k = 0; k + 1 < object.size(); ++k)
    for (int part = 0; part <= parts; ++part) {
      const double f = static_cast<double>(part) / parts;
      const CanalPath::Projection at = path.project({object[k].x + f * (object[k + 1].x - object[k].x),
                                                     object[k].y + f * (object[k + 1].y - object[k].y)});
      const bool along = at.s_px > path.first_px() - 1.0 / mm_per_px && at.s_px < path.last_px();
      if (along && std::fabs(at.n_px) * mm_per_px < beside_mm) return true;
    }
  return false;
}

/// cos(theta + delta) / cos(theta) - 1 to second order, theta and delta of standard deviation `lean`:
/// delta tan(theta) and delta^2 / 2.
double tilt_share() { return std::hypot(lean * std::tan(lean), lean_share); }

ViewShare view_share(const Reading& reading, const ScaleResult& scale, const CanalPath& path) {
  // The detector's plane knows of no tooth; its depth is in the spacing's own uncertainty.
  if (scale.source == "dicom") return {lean_share, 0.0, lean_share};
  bool length = false;
  bool near = false;
  double carried_mm = 0.0;
  for (const ScaleMark& mark : reading.scale) {
    if (const auto* carried = std::get_if<CarriedLength>(&mark)) {
      const double dx = carried->points[1].x - carried->points[0].x;
      const double dy = (carried->points[1].y - carried->points[0].y) * scale.row_to_column_aspect;
      carried_mm = std::max(carried_mm, std::hypot(dx, dy) * scale.mm_per_pixel);
    }
    if (const auto* known = std::get_if<KnownLength>(&mark)) {
      length = true;
      near = near || lies_in_canal(known->points, path, scale.mm_per_pixel);
    }
  }
  if (near) return {};
  if (length) return {std::hypot(depth_share, tilt_share()), depth_share, tilt_share()};
  if (carried_mm > 0.0) return {landmark_mm / carried_mm, landmark_mm / carried_mm, 0.0};
  return {std::hypot(depth_share, lean_share), depth_share, lean_share};  // a known width alone
}

}  // namespace canalrule
