#pragma once

#include <optional>
#include <vector>

#include <canalrule/desk/drawing.hpp>

/// Which mark is under the pointer, and the smooth lines that marks stand for.
namespace canalrule::desk {

/// How far the pointer reaches: `screen_px` at a zoom of `screen_px_per_film_px`.
struct Reach {
  double screen_px = 8.0;
  double screen_px_per_film_px = 1.0;
  double film_px() const { return screen_px / screen_px_per_film_px; }
};

enum class WhichFilm { this_one, other };  ///< `other`: the one the scale is carried over from

/// The nearest point within reach. An apex is preferred to a line's point at the same place.
std::optional<PointPlace> point_under(const Drawing& drawing, Point at, const Reach& reach,
                                      WhichFilm film = WhichFilm::this_one);

/// All points of a film in the order in which the keyboard steps through them: scale marks, then each canal's
/// line, apex and coronal reference.
std::vector<PointPlace> all_points(const Drawing& drawing, WhichFilm film = WhichFilm::this_one);

/// A place on a line between its points, where InsertPoint{place, on_line} adds one.
struct LineHit {
  PointPlace place;
  Point on_line;  ///< the nearest point of the smooth line
};
std::optional<LineHit> line_under(const Drawing& drawing, Point at, const Reach& reach,
                                  double row_to_column_aspect);

/// The smooth line through marks, as it is measured: a natural cubic spline (geometry/path.hpp) in steps of
/// about `step_px`. Fewer than two different points are returned as they are.
Polyline smooth_line(const Polyline& points, double row_to_column_aspect, double step_px = 2.0);

}  // namespace canalrule::desk
