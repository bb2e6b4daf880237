#pragma once

#include <vector>

#include <canalrule/base/point.hpp>
#include <canalrule/geometry/spline.hpp>

namespace canalrule {

/// A smooth line along a canal, by arc length. All lengths here are in pixels of a column's width
/// ("px"); rows of another height are stretched by `row_to_column_aspect` first, so that distances in
/// any direction compare. Arc length runs from the apex: 0 at the apex's projection on the line,
/// positive towards the crown. Beyond both ends the line goes on straight.
class CanalPath {
 public:
  /// A natural cubic spline, by cumulative chord, through `points`, which run from the crown towards
  /// the apex in image coordinates; coinciding neighbours count once. At least two different points.
  CanalPath(const Polyline& points, Point apex, double row_to_column_aspect);

  /// The place on the film at arc length s px, n px to the side: n > 0 is to the right of a walk
  /// towards the crown with y down.
  Point at(double s_px, double n_px = 0.0) const;

  /// Direction of increasing s, in px, of unit length.
  Point direction(double s_px) const;

  /// Arc length and side distance of a point's projection (the nearest one) on the line, in px.
  struct Projection {
    double s_px = 0.0;
    double n_px = 0.0;
  };
  Projection project(Point image_point) const;

  double first_px() const { return 0.0 - apex_at_; }        ///< s of the most apical drawn point
  double last_px() const { return length_ - apex_at_; }     ///< s of the most coronal drawn point
  double aspect() const { return aspect_; }

 private:
  double parameter(double along) const;
  Point square_at(double along) const;
  Projection project_square(Point square) const;

  double aspect_;
  std::vector<double> knots_;
  std::vector<NaturalSpline> xy_;       ///< x and stretched y over the cumulative chord, apex first
  std::vector<double> arc_;             ///< arc length at evenly spaced parameters
  double step_ = 1.0;                   ///< that spacing
  double length_ = 0.0;
  std::vector<Point> coarse_;           ///< places along it from which a projection starts
  double apex_at_ = 0.0;
};

}  // namespace canalrule
