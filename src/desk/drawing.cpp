#include <canalrule/desk/drawing.hpp>

#include <variant>

#include "lines.hpp"

namespace canalrule::desk {

namespace {

ScaleDrawn scale_drawn(const ScaleMark& mark) {
  ScaleDrawn drawn;
  if (const auto* length = std::get_if<KnownLength>(&mark)) {
    drawn = {ScaleDrawn::Kind::known_length,
             length->points,
             length->length_mm,
             length->length_uncertainty_mm,
             {},
             {}};
  } else if (const auto* width = std::get_if<KnownWidth>(&mark)) {
    drawn = {
        ScaleDrawn::Kind::known_width, width->points, width->width_mm, width->width_uncertainty_mm, {}, {}};
  } else {
    const auto& carried = std::get<CarriedLength>(mark);
    drawn = {ScaleDrawn::Kind::carried, carried.points, {}, {}, carried.from_reading, carried.from_points};
  }
  return drawn;
}

ScaleMark scale_mark(const ScaleDrawn& drawn) {
  switch (drawn.kind) {
    case ScaleDrawn::Kind::known_length:
      return KnownLength{drawn.points, *drawn.size_mm, drawn.uncertainty_mm};
    case ScaleDrawn::Kind::known_width: return KnownWidth{drawn.points, *drawn.size_mm, drawn.uncertainty_mm};
    case ScaleDrawn::Kind::carried: break;
  }
  return CarriedLength{drawn.points, drawn.from_reading, drawn.from_points};
}

/// A line that a reading takes: a pixel or more in all.
bool is_line(const Polyline& points) { return points.size() >= 2 && length_px(points) >= 1.0; }

bool named_apart(const Drawing& drawing, std::size_t canal) {
  for (std::size_t i = 0; i < canal; ++i)
    if (drawing.canals[i].name == drawing.canals[canal].name) return false;
  return true;
}

}  // namespace

bool complete(const ScaleDrawn& mark) {
  if (!is_line(mark.points)) return false;
  if (mark.kind == ScaleDrawn::Kind::known_length) return mark.size_mm.has_value();
  if (mark.points.size() != 2) return false;
  if (mark.kind == ScaleDrawn::Kind::known_width) return mark.size_mm.has_value();
  return !mark.from_reading.empty() && mark.from_points.size() == 2 && is_line(mark.from_points);
}

bool complete(const CanalDrawn& canal) {
  return is_line(canal.path) && canal.apex && canal.name.find_first_not_of(' ') != std::string::npos;
}

Drawing drawing_of(const Reading& reading) {
  Drawing drawing;
  drawing.tooth = reading.tooth;
  drawing.radiopaque = reading.radiopaque;
  drawing.response = reading.response;
  for (const ScaleMark& mark : reading.scale) drawing.scale.push_back(scale_drawn(mark));
  for (const CanalMarks& canal : reading.canals)
    drawing.canals.push_back({canal.name, canal.path, canal.apex, canal.line, canal.apex_uncertainty_mm,
                              canal.planned, canal.coronal_reference, canal.apex_marks});
  drawing.note = reading.note;
  drawing.not_assessable = reading.not_assessable;
  return drawing;
}

std::optional<Reading> reading_of(const Drawing& drawing, const Reading& base) {
  Reading reading = base;
  reading.tooth = drawing.tooth;
  reading.radiopaque = drawing.radiopaque;
  reading.response = drawing.response;
  reading.scale.clear();
  for (const ScaleDrawn& mark : drawing.scale)
    if (complete(mark)) reading.scale.push_back(scale_mark(mark));
  reading.canals.clear();
  for (std::size_t i = 0; i < drawing.canals.size(); ++i) {
    const CanalDrawn& canal = drawing.canals[i];
    if (complete(canal) && named_apart(drawing, i))
      reading.canals.push_back({canal.name, canal.path, *canal.apex, canal.apex_uncertainty_mm, canal.planned,
                                canal.coronal_reference, canal.apex_marks, canal.line});
  }
  reading.note = drawing.note;
  reading.not_assessable = drawing.not_assessable;
  if (reading.canals.empty() && !reading.not_assessable) return std::nullopt;
  return reading;
}

bool all_in_reading(const Drawing& drawing) {
  const std::optional<Reading> reading = reading_of(drawing, {});
  return reading ? drawing_of(*reading) == drawing : drawing == Drawing{};
}

std::optional<Point> point_at(const Drawing& drawing, const PointPlace& place) {
  const Polyline* line = nullptr;
  switch (place.of) {
    case PointPlace::Of::scale:
      if (place.item < drawing.scale.size()) line = &drawing.scale[place.item].points;
      break;
    case PointPlace::Of::scale_from:
      if (place.item < drawing.scale.size()) line = &drawing.scale[place.item].from_points;
      break;
    case PointPlace::Of::canal:
      if (place.item < drawing.canals.size()) line = &drawing.canals[place.item].path;
      break;
    case PointPlace::Of::apex:
      if (place.item < drawing.canals.size()) return drawing.canals[place.item].apex;
      break;
    case PointPlace::Of::coronal_reference:
      if (place.item < drawing.canals.size()) return drawing.canals[place.item].coronal_reference;
      break;
  }
  if (line == nullptr || place.index >= line->size()) return std::nullopt;
  return (*line)[place.index];
}

}  // namespace canalrule::desk
