#include "view.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <variant>
#include <vector>

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

/// Distances, px, from a path of the places of an object that lie abreast of it.
std::vector<double> distances_abreast(const Polyline& object, const CanalPath& path, double mm_per_px) {
  constexpr int parts = 20;  // of each piece of the object
  std::vector<double> distances;
  for (std::size_t k = 0; k + 1 < object.size(); ++k)
    for (int part = 0; part <= parts; ++part) {
      const double f = static_cast<double>(part) / parts;
      const CanalPath::Projection at = path.project({object[k].x + f * (object[k + 1].x - object[k].x),
                                                     object[k].y + f * (object[k + 1].y - object[k].y)});
      if (at.s_px > path.first_px() - 1.0 / mm_per_px && at.s_px < path.last_px())
        distances.push_back(std::fabs(at.n_px));
    }
  return distances;
}

}  // namespace

bool lies_in_canal(const KnownObject& object, const CanalPath& path, double mm_per_px) {
  constexpr double on_path_mm = 0.3;   // chosen here; tests/truth/scale_object.cpp
  constexpr double beside_mm = 1.0;    // chosen here; tests/truth/together.cpp
  constexpr double line_on_path_mm = 0.20; // chosen here; tests/reference/fill_geometry.cpp
  constexpr std::size_t end_part = 20; // of the places, to each end: a hand's last point may stray
  const std::vector<double> distances = distances_abreast(object.points, path, mm_per_px);
  if (distances.empty()) return false;
  if (object.seen == KnownObject::Seen::no)
    return *std::min_element(distances.begin(), distances.end()) * mm_per_px < beside_mm;
  // A mere line that runs along the path may be two landmarks, drawn along the fill.
  const auto on_path = std::count_if(distances.begin(), distances.end(),
                                     [&](double away) { return away * mm_per_px < line_on_path_mm; });
  if (object.seen == KnownObject::Seen::line && 2 * on_path > std::ssize(distances)) return true;
  const std::size_t from_end = distances.size() / end_part;
  return std::max(distances[from_end], distances[distances.size() - 1 - from_end]) * mm_per_px < on_path_mm;
}

/// cos(theta + delta) / cos(theta) - 1 to second order, theta and delta of standard deviation `lean`:
/// delta tan(theta) and delta^2 / 2.
double tilt_share() { return std::hypot(lean * std::tan(lean), lean_share); }

ViewShare view_share(const Reading& reading, const ScaleResult& scale, const std::vector<KnownObject>& objects,
                     const CanalPath& path) {
  // The detector's plane knows of no tooth; its depth is in the spacing's own uncertainty.
  if (scale.source == "dicom") return {lean_share, 0.0, lean_share};
  double carried_mm = 0.0;
  for (const ScaleMark& mark : reading.scale) {
    if (const auto* carried = std::get_if<CarriedLength>(&mark)) {
      const double dx = carried->points[1].x - carried->points[0].x;
      const double dy = (carried->points[1].y - carried->points[0].y) * scale.row_to_column_aspect;
      carried_mm = std::max(carried_mm, std::hypot(dx, dy) * scale.mm_per_pixel);
    }
  }
  if (std::any_of(objects.begin(), objects.end(),
                  [&](const KnownObject& one) { return lies_in_canal(one, path, scale.mm_per_pixel); }))
    return {};
  if (!objects.empty()) return {std::hypot(depth_share, tilt_share()), depth_share, tilt_share()};
  if (carried_mm > 0.0) return {landmark_mm / carried_mm, landmark_mm / carried_mm, 0.0};
  return {std::hypot(depth_share, lean_share), depth_share, lean_share};  // a known width alone
}

}  // namespace canalrule
