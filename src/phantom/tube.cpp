#include <canalrule/phantom/tube.hpp>

#include <algorithm>
#include <cmath>

namespace canalrule::phantom {

namespace {

constexpr double upright = 1e-9;  // a lean below this moves a ray by less than 1e-8 mm within a canal

/// Solves a t^2 + 2 b t + c <= 0 with a > 0.
Stretch between_roots(double a, double b, double c) {
  const double discriminant = b * b - a * c;
  if (discriminant <= 0.0) return {};
  const double root = std::sqrt(discriminant);
  return {(-b - root) / a, (-b + root) / a};
}

Stretch within_heights(Stretch s, const Ray& ray, double from_mm, double to_mm) {
  if (std::abs(ray.lean) < upright)
    return ray.along_mm >= from_mm && ray.along_mm < to_mm ? s : Stretch{};
  const double a = (from_mm - ray.along_mm) / ray.lean, b = (to_mm - ray.along_mm) / ray.lean;
  return {std::max(s.from, std::min(a, b)), std::min(s.to, std::max(a, b))};
}

}  // namespace

Stretch crossing(const Piece& piece, const Ray& ray) {
  const double across2 = 1.0 - ray.lean * ray.lean;
  if (piece.rounded) {
    // off^2 + t^2 across2 + (q (along + lean t - to))^2 <= radius^2 with q = radius / height.
    const double q = piece.radius_mm / (piece.to_mm - piece.from_mm);
    const double h = ray.along_mm - piece.to_mm;
    const Stretch s =
        between_roots(across2 + q * q * ray.lean * ray.lean, q * q * h * ray.lean,
                      ray.off_mm * ray.off_mm + q * q * h * h - piece.radius_mm * piece.radius_mm);
    return within_heights(s, ray, piece.from_mm, piece.to_mm);
  }
  const double radius = piece.radius_from_mm + piece.slope * (ray.along_mm - piece.from_mm);
  const double growth = piece.slope * ray.lean;
  const Stretch s = between_roots(across2 - growth * growth, -radius * growth,
                                  ray.off_mm * ray.off_mm - radius * radius);
  return within_heights(s, ray, piece.from_mm, piece.to_mm);
}

double radius_at(const Piece& piece, double along_mm) {
  if (!piece.rounded) return piece.radius_from_mm + piece.slope * (along_mm - piece.from_mm);
  const double u = std::clamp((piece.to_mm - along_mm) / (piece.to_mm - piece.from_mm), 0.0, 1.0);
  return piece.radius_mm * std::sqrt(1.0 - u * u);
}

Stretch crossing(const Ellipsoid& body, const Ray& ray) {
  const double a = 1.0 / (body.half_along * body.half_along);
  const double c = 1.0 / (body.half_depth * body.half_depth);
  const double across = (ray.off_mm - body.across_mm) / body.half_across;
  const double h = ray.along_mm - body.along_mm;
  const double d = std::sqrt(1.0 - ray.lean * ray.lean);
  return between_roots(a * ray.lean * ray.lean + c * d * d, a * h * ray.lean - c * d * body.depth_mm,
                       a * h * h + c * body.depth_mm * body.depth_mm + across * across - 1.0);
}

double cut_depth(const WallCut& cut, double along_mm) {
  const double half = 0.5 * (cut.to_mm - cut.from_mm);
  const double u = (along_mm - 0.5 * (cut.from_mm + cut.to_mm)) / half;
  return u * u < 1.0 ? cut.depth_mm * std::sqrt(1.0 - u * u) : 0.0;
}

double cut_length(const WallCut& cut, const Ray& ray, double radius_mm, Stretch inside) {
  const double depth = cut_depth(cut, ray.along_mm);
  if (depth <= 0.0 || inside.length() <= 0.0) return 0.0;
  // Gone where off cos + t across sin > radius - depth.
  const double rest = radius_mm - depth - ray.off_mm * cut.cos_azimuth;
  const double per_t = std::sqrt(1.0 - ray.lean * ray.lean) * cut.sin_azimuth;
  if (std::abs(per_t) < upright) return rest < 0.0 ? inside.length() : 0.0;
  const double t = rest / per_t;
  return per_t > 0.0 ? Stretch{std::max(inside.from, t), inside.to}.length()
                     : Stretch{inside.from, std::min(inside.to, t)}.length();
}

}  // namespace canalrule::phantom
