#include "own_line.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <cstddef>
#include <vector>

#include "parabola.hpp"
#include "ridge.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/terminus.cpp holds them.
constexpr double knots_mm = 0.5;
constexpr double beside_mm = 0.7;    ///< of a knot: drawn points nearer than this add nothing
constexpr double tip_mm = 0.3;       ///< of the fill, whose own offset is the least sure
constexpr double short_mm = 0.25;    ///< of the apex, from where the way on is part of the line
constexpr double leaving_mm = 1.25;  ///< of the fill that tells how it leaves its end: longer ones bend otherwise
constexpr double samples_mm = 0.1;   ///< of it
constexpr std::size_t least_samples = 5;  ///< fewer tell no direction; the points then stand as drawn
/// A mark this far aside of the drawn path lies half as far aside of the line: nearer ones are surer than the hand is,
/// farther ones lie beside the canal, and are projected on it. Where the path stops short its direction may be off by
/// so much, and the canal bend by one over 8 mm.
constexpr double aside_of_path_mm = 0.25, off_ahead = 0.1, tightest_mm = 8.0;
constexpr double astray_mm = 0.45;  ///< how far astray of a canal a hand draws at most
/// By how much the bend of the way to the apex may change, radians a mm, standard deviation.
constexpr double bend_per_mm = 0.06;
constexpr double steepest = 0.5;  ///< tangent of the angle between how a fill leaves its end and where the apex lies

/// Where a line ends and in which direction it goes on, rows stretched to the columns' scale.
struct Leaving {
  Point end, ahead;
};

/// Of points on a line, rows stretched, and how far each lies from the line's end: the parabola through them, there.
Leaving leave(const Polyline& points, const std::vector<double>& away) {
  Parabola line;
  for (std::size_t k = 0; k < points.size(); ++k) line.add(away[k], points[k]);
  ensure(line.solve(), "a line through places that differ");
  const Point slope = line.slope(0.0);
  const double size = std::hypot(slope.x, slope.y);
  return {line.at(0.0), {-slope.x / size, -slope.y / size}};
}

/// Points of a canal's line between the fill's end and the apex. It leaves the fill straight on and bends ever less,
/// as a spring that is let go. Single drawn points lie aside of the canal as a hand does, and a line through them all
/// is too long: together they tell one bend more. Where that passes one by more than a hand goes astray, or the apex
/// lies too far aside, they stand as they are.
Polyline way_on(const Leaving& leaving, Point apex, const Polyline& drawn, double aspect, double mm) {
  const Point end = leaving.end, ahead = leaving.ahead;
  const auto along = [&](Point p) { return (p.x - end.x) * ahead.x + (p.y * aspect - end.y) * ahead.y; };
  const auto aside = [&](Point p) { return (p.y * aspect - end.y) * ahead.x - (p.x - end.x) * ahead.y; };
  const double away = along(apex), off = aside(apex);
  if (std::fabs(off) > steepest * away) return drawn;
  // Both leave the end, u = 0, straight on; the second is 1 at its highest and 0 at the apex, u = 1.
  const auto spring = [&](double u) { return off * u * u * (1.5 - 0.5 * u); };
  const auto bend = [&](double u) { return 6.75 * u * u * (1.0 - u); };
  const double usual_mm = bend_per_mm * std::pow(away * mm, 2) / 8.0;  // the height of a bow of that curvature
  double weight = std::pow(hand_mm / usual_mm, 2);
  double weighed = 0.0;
  for (const Point& p : drawn) {
    const double u = std::clamp(along(p) / away, 0.0, 1.0);
    weighed += bend(u) * (aside(p) - spring(u));
    weight += bend(u) * bend(u);
  }
  const double height = weighed / weight;
  const auto line = [&](double u) { return spring(u) + height * bend(u); };
  for (const Point& p : drawn)
    if (std::fabs(aside(p) - line(std::clamp(along(p) / away, 0.0, 1.0))) > astray_mm / mm) return drawn;
  Polyline way;
  const int pieces = std::max(2, static_cast<int>(std::lround(away * mm / knots_mm)));
  for (int k = 1; k < pieces; ++k) {
    const double u = static_cast<double>(k) / pieces;
    const double n = line(u);
    way.push_back({end.x + u * away * ahead.x - n * ahead.y, (end.y + u * away * ahead.y + n * ahead.x) / aspect});
  }
  return way;
}

/// Where the canal is taken to pass the apex.
Point passing_apex(const CanalMarks& marks, const CanalPath& path, double mm) {
  const double n = path.project(marks.apex).n_px;
  const double left_mm = std::max(0.0, path.first_px() * mm);
  const double usual = (aside_of_path_mm + off_ahead * left_mm + left_mm * left_mm / (2.0 * tightest_mm)) / mm;
  return path.at(0.0, n / (1.0 + std::pow(n / usual, 4)));
}

}  // namespace

OwnLine own_line(const FilmOnBench& film, const CanalMarks& marks, const CanalPath& path, const FillModel& model,
                 double coronal_px) {
  const double mm = film.mm_per_px;
  const double apart = beside_mm / mm;
  OwnLine own{{}, marks.apex};
  Polyline& line = own.points;
  for (const Point& drawn : marks.path) {
    const CanalPath::Projection at = path.project(drawn);
    if (at.s_px > coronal_px + apart) line.push_back(drawn);
  }
  const double inner = model.end_px + tip_mm / mm;
  const int pieces = std::max(2, static_cast<int>(std::lround((coronal_px - inner) * mm / knots_mm)));
  for (int k = 0; k <= pieces; ++k) {
    const double s = coronal_px + (inner - coronal_px) * k / pieces;
    line.push_back(path.at(s, model.centre_px(s)));
  }
  if (model.end_px <= short_mm / mm) return own;
  own.apex = passing_apex(marks, path, mm);
  Polyline way;
  for (const Point& drawn : marks.path) {
    const double s = path.project(drawn).s_px;
    if (s < model.end_px - apart && s > apart) way.push_back(drawn);
  }
  Polyline last;
  std::vector<double> away;
  for (double s = inner; s <= std::min(coronal_px, inner + leaving_mm / mm); s += samples_mm / mm) {
    const Point p = path.at(s, model.centre_px(s));
    last.push_back({p.x, p.y * film.aspect});
    away.push_back(s - model.end_px);
  }
  if (last.size() >= least_samples) way = way_on(leave(last, away), own.apex, way, film.aspect, mm);
  line.insert(line.end(), way.begin(), way.end());
  line.push_back(own.apex);
  return own;
}

}  // namespace canalrule
