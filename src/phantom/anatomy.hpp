#pragma once

#include <canalrule/phantom/projection.hpp>
#include <canalrule/phantom/sensor.hpp>

namespace canalrule::phantom {

/// The cortical plates' unevenness over the trabecular pattern's, both as shares of their lengths; chosen
/// here, by the look of real films over their roots.
inline constexpr double plate_texture_share = 0.5;

/// What the beam passes but the canals' contents: lengths in mm along each pixel's ray.
struct Anatomy {
  Plane trabecular, cortical, dentine, enamel, soft, restoration;
  Material restoration_material = Material::composite;
};

Anatomy build_anatomy(const Description& description, const ToothFrame& frame, const Projection& projection);

/// Where a ray meets the plane of a tooth (its axis and the direction across): mm across and along.
class ToothPlane {
 public:
  ToothPlane(const ToothFrame& frame, const Projection& projection);
  struct Place {
    double across = 0.0, along = 0.0;
  };
  Place at(Point pixel) const {
    const double t = height_ / normal_.at(pixel);
    return {across_from_ + t * across_.at(pixel), along_from_ + t * along_.at(pixel)};
  }

 private:
  /// A component of the ray to a film point, linear in the point.
  struct Component {
    double start = 0.0, per_x = 0.0, per_y = 0.0;
    double at(Point p) const { return start + per_x * p.x + per_y * p.y; }
  };
  Component normal_, across_, along_;
  double height_ = 0.0, across_from_ = 0.0, along_from_ = 0.0;
};

}  // namespace canalrule::phantom
