#include <canalrule/desk/steps.hpp>

#include <string>

#include <canalrule/base/fault.hpp>
#include <canalrule/desk/teeth.hpp>

#include "lines.hpp"

namespace canalrule::desk {

namespace {

using Kind = ScaleDrawn::Kind;
using Of = PointPlace::Of;

bool has_item(const Drawing& drawing, const Pen& pen) {
  switch (pen.hand) {
    case Hand::nothing: return true;
    case Hand::scale_points:
    case Hand::scale_from_points: return pen.item < drawing.scale.size();
    default: return pen.item < drawing.canals.size();
  }
}

Edit point_edit(const Polyline& line, Of of, std::size_t item, std::size_t most, Point at) {
  if (line.size() < most) return InsertPoint{{of, item, line.size()}, at};
  std::size_t nearest = 0;
  for (std::size_t i = 1; i < line.size(); ++i)
    if (distance_px(line[i], at) < distance_px(line[nearest], at)) nearest = i;
  return MovePoint{{of, item, nearest}, at};
}

/// A line with as many points as it bends.
constexpr std::size_t any_number = static_cast<std::size_t>(-1);

Click click_scale(const Drawing& drawing, const Pen& pen, Point at) {
  const ScaleDrawn& mark = drawing.scale[pen.item];
  const bool here = pen.hand == Hand::scale_points;
  const Polyline& line = here ? mark.points : mark.from_points;
  const std::size_t most = here && mark.kind == Kind::known_length ? any_number : 2;
  Click result{{point_edit(line, here ? Of::scale : Of::scale_from, pen.item, most, at)}, pen, {}};
  if (line.size() + 1 >= most) {
    result.pen = {};
    if (here && mark.kind == Kind::carried && mark.from_points.size() < 2)
      result.pen = {Hand::scale_from_points, pen.item};
  }
  return result;
}

Click click_ends(const Drawing& drawing, const Pen& pen, Point at) {
  CanalDrawn canal = drawing.canals[pen.item];
  if (canal.path.size() != 1) {
    canal.path = {at};
    canal.apex.reset();
    canal.line = LineSource::drawn;
    return {{ReplaceCanal{pen.item, canal}}, pen, {}};
  }
  canal.path.push_back(at);
  canal.apex = at;
  return {{ReplaceCanal{pen.item, canal}}, {}, pen.item};
}

Sentence scale_click(const Drawing& drawing, const Pen& pen) {
  const ScaleDrawn& mark = drawing.scale[pen.item];
  if (pen.hand == Hand::scale_from_points) {
    if (mark.from_points.empty())
      return {"Click on the other film: the first of the same two landmarks.", {}};
    if (mark.from_points.size() == 1) return {"Click on the other film: the second landmark.", {}};
    return {"Click on the other film to move the nearer landmark there.", {}};
  }
  const std::size_t points = mark.points.size();
  switch (mark.kind) {
    case Kind::known_length:
      if (points == 0) return {"Click on the file's stop.", {}};
      if (points == 1) return {"Click along the file where it bends, or on its tip.", {}};
      return {"Click on along the file, or finish at its tip.", {}};
    case Kind::known_width:
      if (points == 0) return {"Click on one side of the object of known width.", {}};
      if (points == 1) return {"Click on its other side, straight across.", {}};
      return {"Click to move the nearer side.", {}};
    case Kind::carried: break;
  }
  if (points == 0)
    return {"Click on a landmark of the tooth that both films show, a cusp tip for instance.", {}};
  if (points == 1) return {"Click on a second landmark, far from the first, the apex for instance.", {}};
  return {"Click to move the nearer landmark.", {}};
}

}  // namespace

Sentence next_click(const Drawing& drawing, const Pen& pen) {
  ensure(has_item(drawing, pen), "the pen is at a mark that is there");
  switch (pen.hand) {
    case Hand::nothing: return {"Drag a mark to move it, or choose a step.", {}};
    case Hand::scale_points:
    case Hand::scale_from_points: return scale_click(drawing, pen);
    default: break;
  }
  const CanalDrawn& canal = drawing.canals[pen.item];
  switch (pen.hand) {
    case Hand::canal_points:
      if (canal.path.empty()) return {"Click on the orifice of canal %1.", {canal.name}};
      if (canal.path.size() == 1) return {"Click along canal %1 towards its apex.", {canal.name}};
      return {"Click on along canal %1, or finish the line.", {canal.name}};
    case Hand::canal_ends:
      if (canal.path.size() == 1)
        return {"Click on the apex of canal %1; the line between is then proposed.", {canal.name}};
      return {"Click on the orifice of canal %1; then only its apex is needed.", {canal.name}};
    case Hand::apex: return {"Click on the radiographic apex of canal %1.", {canal.name}};
    default: break;
  }
  return {"Click where the working length of canal %1 was measured from, a cusp tip for instance.",
          {canal.name}};
}

Click click(const Drawing& drawing, const Pen& pen, Point at) {
  ensure(has_item(drawing, pen), "the pen is at a mark that is there");
  switch (pen.hand) {
    case Hand::nothing: return {{}, pen, {}};
    case Hand::scale_points:
    case Hand::scale_from_points: return click_scale(drawing, pen, at);
    case Hand::canal_points:
      return {{point_edit(drawing.canals[pen.item].path, Of::canal, pen.item, any_number, at)}, pen, {}};
    case Hand::canal_ends: return click_ends(drawing, pen, at);
    case Hand::apex: return {{MovePoint{{Of::apex, pen.item, 0}, at}}, {}, {}};
    case Hand::coronal_reference: break;
  }
  return {{MovePoint{{Of::coronal_reference, pen.item, 0}, at}}, {}, {}};
}

Begin begin(const Drawing& drawing, Step step) {
  std::vector<std::string> names;
  for (const CanalDrawn& canal : drawing.canals) names.push_back(canal.name);
  const auto new_canal = [&] { return add_canal(drawing, free_canal_name(drawing.tooth, names)); };
  switch (step) {
    case Step::scale:
      for (std::size_t i = 0; i < drawing.scale.size(); ++i)
        if (!complete(drawing.scale[i])) {
          Pen pen = finished(drawing, {Hand::scale_points, i});
          if (pen.hand == Hand::nothing) pen = {Hand::scale_points, i};
          return {std::nullopt, pen};
        }
      return {add_scale(drawing, Kind::known_length), {Hand::scale_points, drawing.scale.size()}};
    case Step::canals:
      for (std::size_t i = 0; i < drawing.canals.size(); ++i)
        if (drawing.canals[i].path.size() < 2) return {std::nullopt, {Hand::canal_points, i}};
      return {new_canal(), {Hand::canal_points, drawing.canals.size()}};
    case Step::apex: break;
  }
  for (std::size_t i = 0; i < drawing.canals.size(); ++i)
    if (!drawing.canals[i].apex) return {std::nullopt, {Hand::apex, i}};
  if (!drawing.canals.empty()) return {std::nullopt, {Hand::apex, 0}};
  return {new_canal(), {Hand::apex, 0}};
}

}  // namespace canalrule::desk
