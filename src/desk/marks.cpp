#include <canalrule/desk/marks.hpp>

#include <algorithm>
#include <cmath>
#include <vector>

#include <canalrule/geometry/path.hpp>

#include "lines.hpp"

namespace canalrule::desk {

namespace {

using Of = PointPlace::Of;

/// The nearest of the places offered so far; of two at the same place the first offered stays.
struct Nearest {
  Point at;
  double within;
  std::optional<PointPlace> place;

  void offer(Point point, const PointPlace& candidate) {
    const double distance = distance_px(point, at);
    if (distance > within || (place && distance >= within)) return;
    within = distance;
    place = candidate;
  }
  void offer(const Polyline& line, Of of, std::size_t item) {
    for (std::size_t i = 0; i < line.size(); ++i) offer(line[i], {of, item, i});
  }
};

Polyline apart(const Polyline& points) {
  Polyline kept;
  for (const Point& point : points)
    if (kept.empty() || distance_px(kept.back(), point) > 1e-6) kept.push_back(point);
  return kept;
}

/// The line through marks as it is measured; arc length falls from the first mark to the last. Nothing for
/// marks that are no line.
std::optional<CanalPath> path_of(const Polyline& points, double row_to_column_aspect) {
  const Polyline line = apart(points);
  if (line.size() < 2) return std::nullopt;
  return CanalPath(line, line.back(), row_to_column_aspect);
}

/// Where a line passes nearest to a point, between its ends.
struct Passage {
  Point on_line;
  std::size_t index = 0;  ///< that a point inserted there gets
};

std::optional<Passage> passage(const Polyline& points, Point at, double row_to_column_aspect) {
  const std::optional<CanalPath> path = path_of(points, row_to_column_aspect);
  if (!path) return std::nullopt;
  const double s = path->project(at).s_px;
  if (s <= path->first_px() || s >= path->last_px()) return std::nullopt;
  std::size_t index = 1;
  while (index + 1 < points.size() && path->project(points[index]).s_px > s) ++index;
  return Passage{path->at(s), index};
}

}  // namespace

std::optional<PointPlace> point_under(const Drawing& drawing, Point at, const Reach& reach, WhichFilm film) {
  Nearest nearest{at, reach.film_px(), {}};
  if (film == WhichFilm::other) {
    for (std::size_t i = 0; i < drawing.scale.size(); ++i)
      nearest.offer(drawing.scale[i].from_points, Of::scale_from, i);
    return nearest.place;
  }
  for (std::size_t i = 0; i < drawing.canals.size(); ++i) {
    const CanalDrawn& canal = drawing.canals[i];
    if (canal.apex) nearest.offer(*canal.apex, {Of::apex, i, 0});
    if (canal.coronal_reference) nearest.offer(*canal.coronal_reference, {Of::coronal_reference, i, 0});
  }
  for (std::size_t i = 0; i < drawing.canals.size(); ++i) nearest.offer(drawing.canals[i].path, Of::canal, i);
  for (std::size_t i = 0; i < drawing.scale.size(); ++i) nearest.offer(drawing.scale[i].points, Of::scale, i);
  return nearest.place;
}

std::vector<PointPlace> all_points(const Drawing& drawing, WhichFilm film) {
  std::vector<PointPlace> places;
  const auto add = [&](Of of, std::size_t item, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) places.push_back({of, item, i});
  };
  const bool here = film == WhichFilm::this_one;
  for (std::size_t i = 0; i < drawing.scale.size(); ++i) {
    const ScaleDrawn& mark = drawing.scale[i];
    add(here ? Of::scale : Of::scale_from, i, here ? mark.points.size() : mark.from_points.size());
  }
  for (std::size_t i = 0; here && i < drawing.canals.size(); ++i) {
    const CanalDrawn& canal = drawing.canals[i];
    add(Of::canal, i, canal.path.size());
    add(Of::apex, i, canal.apex ? 1 : 0);
    add(Of::coronal_reference, i, canal.coronal_reference ? 1 : 0);
  }
  return places;
}

std::optional<LineHit> line_under(const Drawing& drawing, Point at, const Reach& reach,
                                  double row_to_column_aspect) {
  std::optional<LineHit> hit;
  double within = reach.film_px();
  const auto offer = [&](const Polyline& points, Of of, std::size_t item) {
    const std::optional<Passage> found = passage(points, at, row_to_column_aspect);
    if (!found || distance_px(found->on_line, at) > within) return;
    within = distance_px(found->on_line, at);
    hit = LineHit{{of, item, found->index}, found->on_line};
  };
  for (std::size_t i = 0; i < drawing.canals.size(); ++i) offer(drawing.canals[i].path, Of::canal, i);
  for (std::size_t i = 0; i < drawing.scale.size(); ++i)
    if (drawing.scale[i].kind == ScaleDrawn::Kind::known_length) offer(drawing.scale[i].points, Of::scale, i);
  return hit;
}

Polyline smooth_line(const Polyline& points, double row_to_column_aspect, double step_px) {
  const std::optional<CanalPath> path = path_of(points, row_to_column_aspect);
  if (!path) return points;
  const double length = path->last_px() - path->first_px();
  const int steps = std::max(1, static_cast<int>(std::ceil(length / step_px)));
  Polyline line;
  for (int i = 0; i <= steps; ++i) line.push_back(path->at(path->last_px() - length * i / steps));
  return line;
}

}  // namespace canalrule::desk
