#pragma once

#include <array>
#include <vector>

namespace canalrule::phantom {

/// How a ray passes a canal, in the canal's own straight frame: it comes nearest to the axis at
/// `along_mm`, `off_mm` to its side, and its direction has the component `lean` along the axis (0: at
/// right angles). t along the ray is measured from the nearest point, towards the source.
struct Ray {
  double along_mm = 0.0, off_mm = 0.0, lean = 0.0;
};

/// A stretch of a ray, empty where to <= from.
struct Stretch {
  double from = 0.0, to = 0.0;
  double length() const { return to > from ? to - from : 0.0; }
};

/// A piece of a round body: a cone's frustum between two heights, or a rounded end.
struct Piece {
  double from_mm = 0.0, to_mm = 0.0;        ///< along the axis
  double radius_from_mm = 0.0, slope = 0.0; ///< frustum: radius at from_mm and its change per mm
  bool rounded = false;                     ///< else: half an ellipsoid, nought at from_mm, full at to_mm
  double radius_mm = 0.0;                   ///< of that ellipsoid
  double share = 1.0;                       ///< of the excess attenuation that is there
};

/// The stretch of the ray in the piece: exact, closed form.
Stretch crossing(const Piece& piece, const Ray& ray);

/// Its radius at a height within it.
double radius_at(const Piece& piece, double along_mm);

/// An ellipsoid with one axis along the canal's.
struct Ellipsoid {
  double along_mm = 0.0, across_mm = 0.0, depth_mm = 0.0;  ///< centre
  double half_along = 0.0, half_across = 0.0, half_depth = 0.0;
};
Stretch crossing(const Ellipsoid& body, const Ray& ray);

/// What is gone along one wall: beyond a plane parallel to the axis, `depth_mm(s)` inside the wall.
/// The depth follows half an ellipse over the length.
struct WallCut {
  double from_mm = 0.0, to_mm = 0.0;
  double depth_mm = 0.0;
  double cos_azimuth = 1.0, sin_azimuth = 0.0;
};
/// How much of `inside`, a stretch of the ray in a body of radius `radius_mm`, the cut takes.
double cut_length(const WallCut& cut, const Ray& ray, double radius_mm, Stretch inside);
double cut_depth(const WallCut& cut, double along_mm);

}  // namespace canalrule::phantom
