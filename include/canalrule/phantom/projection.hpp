#pragma once

#include <cmath>
#include <vector>

#include <canalrule/phantom/description.hpp>

namespace canalrule::phantom {

struct Vec3 {
  double x = 0.0, y = 0.0, z = 0.0;
  friend Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
  friend Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
  friend Vec3 operator*(double s, Vec3 a) { return {s * a.x, s * a.y, s * a.z}; }
};
inline double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline Vec3 unit(Vec3 a) { return (1.0 / std::sqrt(dot(a, a))) * a; }

/// Central projection from the source on a flat detector. World: mm, x to the right and y down on the
/// film, z towards the source, origin in the detector's middle.
class Projection {
 public:
  Projection(const Beam& beam, const Detector& detector);
  Point on_film(Vec3 place) const;      ///< in pixels, the contract's image coordinates
  Vec3 on_detector(Point pixel) const;  ///< the place in space of a point of the detector
  Vec3 source() const { return source_; }
  double pixel_mm() const { return pixel_mm_; }
  /// Where the ray to this film point crosses the height z above the detector's middle.
  Vec3 at_height(Point pixel, double z) const;

 private:
  double pixel_mm_, half_columns_, half_rows_;
  Vec3 source_, down_, normal_;
};

/// The tooth's frame in the world.
struct ToothFrame {
  Vec3 origin;                       ///< the tooth's apex
  Vec3 across, along, depth;         ///< unit vectors
  Vec3 place(double a, double l, double d) const { return origin + a * across + l * along + d * depth; }
};
ToothFrame tooth_frame(const Tooth& tooth, const Beam& beam, const Detector& detector);

/// A curve in space and its shadow: samples at equal steps of 3-D arc length.
struct Line {
  double first_mm = 0.0;             ///< arc length of sample 0 from the apex
  double step_mm = 0.0;
  std::vector<Vec3> place, tangent;  ///< tangent towards the crown
  std::vector<Point> film;           ///< projected, pixels
  std::vector<double> film_px;       ///< arc length on the film from the apex, pixels

  double interpolate(const std::vector<double>& v, double arc_mm) const;
  double film_px_at(double arc_mm) const;
  Point film_at(double arc_mm) const;
};
Line trace(const Curve& curve, const ToothFrame& frame, const Projection& projection, double from_mm,
           double to_mm, double step_mm);

/// Finds the sample nearest to a film point, starting from where the last one was.
class Nearest {
 public:
  explicit Nearest(const Line& line) : line_(&line) {}
  struct Found {
    std::size_t index = 0;  ///< between this sample and the next
    double share = 0.0;     ///< 0 to 1
    double arc_mm = 0.0;
    double off_px = 0.0;    ///< signed distance: positive to the right, looking apically
    bool inside = false;    ///< false beyond the line's ends
  };
  Found find(Point p);

 private:
  const Line* line_;
  long index_ = 0;
};

}  // namespace canalrule::phantom
