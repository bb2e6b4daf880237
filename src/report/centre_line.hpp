#pragma once

#include <canalrule/record/result.hpp>
#include <functional>
#include <optional>
#include <vector>

namespace canalrule::report {

/// The found centre line as a curve to draw along: distance from the apex in mm to places, in whatever
/// frame its points were put. Between its points it is straight; beyond its ends it goes on straight.
class CentreLine {
 public:
  /// `to_frame` maps image coordinates; it must not mirror. Points whose distance does not grow are
  /// left out.
  CentreLine(const std::vector<CentreAt>& points, const std::function<Point(Point)>& to_frame);

  /// Fewer than two points: nothing can be placed.
  bool empty() const { return at_.size() < 2; }
  double apical_end_mm() const { return at_.front(); }
  double coronal_end_mm() const { return at_.back(); }

  Point place(double at_mm) const;
  /// The unit vector across the line, to the right of somebody who looks towards the crown.
  Point across(double at_mm) const;
  /// The place and so far across it.
  Point beside(double at_mm, double offset) const;
  /// How far a point lies to the right of the line at that distance, in the frame's unit.
  double offset_of(double at_mm, Point point) const;

 private:
  std::vector<double> at_;
  Polyline points_;
};

/// Whether anything of a fill was measured; without, the centre line is but the path as drawn.
bool fill_found(const CanalResult& canal);

}  // namespace canalrule::report
