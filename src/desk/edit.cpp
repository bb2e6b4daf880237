#include <canalrule/desk/edit.hpp>

#include <algorithm>
#include <cstddef>
#include <utility>

#include <canalrule/base/fault.hpp>

namespace canalrule::desk {

namespace {

using Of = PointPlace::Of;

template <class... Each>
struct Overloaded : Each... {
  using Each::operator()...;
};
template <class... Each>
Overloaded(Each...) -> Overloaded<Each...>;

bool has_item(const Drawing& drawing, const PointPlace& place) {
  const bool scale = place.of == Of::scale || place.of == Of::scale_from;
  return place.item < (scale ? drawing.scale.size() : drawing.canals.size());
}

/// The line that the place is on; null for apex and coronal reference.
Polyline* line_of(Drawing& drawing, const PointPlace& place) {
  if (place.of == Of::scale) return &drawing.scale[place.item].points;
  if (place.of == Of::scale_from) return &drawing.scale[place.item].from_points;
  if (place.of == Of::canal) return &drawing.canals[place.item].path;
  return nullptr;
}

std::optional<Point>& single_point(Drawing& drawing, const PointPlace& place) {
  CanalDrawn& canal = drawing.canals[place.item];
  return place.of == Of::apex ? canal.apex : canal.coronal_reference;
}

std::size_t points_on(const Drawing& drawing, const PointPlace& place) {
  if (place.of == Of::scale) return drawing.scale[place.item].points.size();
  if (place.of == Of::scale_from) return drawing.scale[place.item].from_points.size();
  return drawing.canals[place.item].path.size();
}

bool on_line(const PointPlace& place) { return place.of != Of::apex && place.of != Of::coronal_reference; }

std::ptrdiff_t offset(std::size_t index) { return static_cast<std::ptrdiff_t>(index); }

/// A line that a person has changed is the person's.
void now_drawn(Drawing& drawing, const PointPlace& place) {
  if (place.of == Of::canal) drawing.canals[place.item].line = LineSource::drawn;
}

struct Applier {
  Drawing& drawing;

  void operator()(const MovePoint& edit) const {
    if (Polyline* line = line_of(drawing, edit.place)) {
      (*line)[edit.place.index] = edit.to;
    } else {
      single_point(drawing, edit.place) = edit.to;
    }
    now_drawn(drawing, edit.place);
  }
  void operator()(const InsertPoint& edit) const {
    Polyline& line = *line_of(drawing, edit.place);
    line.insert(line.begin() + offset(edit.place.index), edit.at);
    now_drawn(drawing, edit.place);
  }
  void operator()(const RemovePoint& edit) const {
    if (Polyline* line = line_of(drawing, edit.place)) {
      line->erase(line->begin() + offset(edit.place.index));
    } else {
      single_point(drawing, edit.place).reset();
    }
    now_drawn(drawing, edit.place);
  }
  void operator()(const InsertCanal& edit) const {
    drawing.canals.insert(drawing.canals.begin() + offset(edit.index), edit.canal);
  }
  void operator()(const RemoveCanal& edit) const {
    drawing.canals.erase(drawing.canals.begin() + offset(edit.index));
  }
  void operator()(const ReplaceCanal& edit) const { drawing.canals[edit.index] = edit.canal; }
  void operator()(const SetScale& edit) const { drawing.scale = edit.scale; }
  void operator()(const SetTooth& edit) const { drawing.tooth = edit.tooth; }
  void operator()(const SetGrey& edit) const {
    drawing.radiopaque = edit.radiopaque;
    drawing.response = edit.response;
  }
  void operator()(const SetNote& edit) const { drawing.note = edit.note; }
  void operator()(const SetNotAssessable& edit) const { drawing.not_assessable = edit.reason; }
  void operator()(const SetDrawing& edit) const { drawing = edit.drawing; }
};

/// What takes an edit on a point back. Where the edit also makes a proposed line a drawn one, or clears a
/// point that was there, only the canal as it was does.
struct Inverter {
  const Drawing& before;

  Edit whole_canal(std::size_t canal) const { return ReplaceCanal{canal, before.canals[canal]}; }
  bool was_proposed(const PointPlace& place) const {
    return place.of == Of::canal && before.canals[place.item].line == LineSource::proposed;
  }

  Edit operator()(const MovePoint& edit) const {
    const std::optional<Point> was = point_at(before, edit.place);
    if (was_proposed(edit.place)) return whole_canal(edit.place.item);
    if (!was) return RemovePoint{edit.place};
    return MovePoint{edit.place, *was};
  }
  Edit operator()(const InsertPoint& edit) const {
    if (was_proposed(edit.place)) return whole_canal(edit.place.item);
    return RemovePoint{edit.place};
  }
  Edit operator()(const RemovePoint& edit) const {
    if (was_proposed(edit.place)) return whole_canal(edit.place.item);
    const Point was = *point_at(before, edit.place);
    if (on_line(edit.place)) return InsertPoint{edit.place, was};
    return MovePoint{edit.place, was};
  }
  Edit operator()(const InsertCanal& edit) const { return RemoveCanal{edit.index}; }
  Edit operator()(const RemoveCanal& edit) const {
    return InsertCanal{edit.index, before.canals[edit.index]};
  }
  Edit operator()(const ReplaceCanal& edit) const { return whole_canal(edit.index); }
  Edit operator()(const SetScale&) const { return SetScale{before.scale}; }
  Edit operator()(const SetTooth&) const { return SetTooth{before.tooth}; }
  Edit operator()(const SetGrey&) const { return SetGrey{before.radiopaque, before.response}; }
  Edit operator()(const SetNote&) const { return SetNote{before.note}; }
  Edit operator()(const SetNotAssessable&) const { return SetNotAssessable{before.not_assessable}; }
  Edit operator()(const SetDrawing&) const { return SetDrawing{before}; }
};

}  // namespace

bool applies(const Drawing& drawing, const Edit& edit) {
  const auto canal = [&](std::size_t index) { return index < drawing.canals.size(); };
  return std::visit(
      Overloaded{[&](const MovePoint& e) {
                   return has_item(drawing, e.place) &&
                          (on_line(e.place) ? e.place.index < points_on(drawing, e.place)
                                            : e.place.index == 0);
                 },
                 [&](const InsertPoint& e) {
                   return has_item(drawing, e.place) && on_line(e.place) &&
                          e.place.index <= points_on(drawing, e.place);
                 },
                 [&](const RemovePoint& e) {
                   return has_item(drawing, e.place) && point_at(drawing, e.place) &&
                          (on_line(e.place) || e.place.index == 0);
                 },
                 [&](const InsertCanal& e) { return e.index <= drawing.canals.size(); },
                 [&](const RemoveCanal& e) { return canal(e.index); },
                 [&](const ReplaceCanal& e) { return canal(e.index); }, [](const auto&) { return true; }},
      edit);
}

Drawing applied(Drawing drawing, const Edit& edit) {
  ensure(applies(drawing, edit), "an edit is made on a place that is there");
  std::visit(Applier{drawing}, edit);
  return drawing;
}

Change change_of(const Drawing& before, Edit edit) {
  ensure(applies(before, edit), "an edit is made on a place that is there");
  Edit back = std::visit(Inverter{before}, edit);
  return {std::move(edit), std::move(back)};
}

std::optional<Change> merged(const Change& first, const Change& second) {
  const auto* one = std::get_if<MovePoint>(&first.forward);
  const auto* other = std::get_if<MovePoint>(&second.forward);
  if (one == nullptr || other == nullptr || one->place != other->place) return std::nullopt;
  return Change{second.forward, first.back};
}

Edit add_canal(const Drawing& drawing, const std::string& name) {
  CanalDrawn canal;
  canal.name = name;
  return InsertCanal{drawing.canals.size(), canal};
}

Edit rename_canal(const Drawing& drawing, std::size_t canal, const std::string& name) {
  CanalDrawn changed = drawing.canals.at(canal);
  changed.name = name;
  return ReplaceCanal{canal, changed};
}

Edit set_planned(const Drawing& drawing, std::size_t canal, const std::optional<Planned>& planned) {
  CanalDrawn changed = drawing.canals.at(canal);
  changed.planned = planned;
  return ReplaceCanal{canal, changed};
}

Edit set_line(const Drawing& drawing, std::size_t canal, const Polyline& path, LineSource source) {
  CanalDrawn changed = drawing.canals.at(canal);
  changed.path = path;
  changed.line = source;
  return ReplaceCanal{canal, changed};
}

Edit accept_line(const Drawing& drawing, std::size_t canal) {
  return set_line(drawing, canal, drawing.canals.at(canal).path, LineSource::drawn);
}

Edit add_scale(const Drawing& drawing, ScaleDrawn::Kind kind) {
  std::vector<ScaleDrawn> scale = drawing.scale;
  scale.emplace_back().kind = kind;
  return SetScale{scale};
}

Edit remove_scale(const Drawing& drawing, std::size_t mark) {
  std::vector<ScaleDrawn> scale = drawing.scale;
  ensure(mark < scale.size(), "a scale mark that is there is removed");
  scale.erase(scale.begin() + offset(mark));
  return SetScale{scale};
}

Edit set_scale_size(const Drawing& drawing, std::size_t mark, std::optional<double> size_mm,
                    std::optional<double> uncertainty_mm) {
  std::vector<ScaleDrawn> scale = drawing.scale;
  scale.at(mark).size_mm = size_mm;
  scale.at(mark).uncertainty_mm = uncertainty_mm;
  return SetScale{scale};
}

Edit set_scale_from(const Drawing& drawing, std::size_t mark, const std::string& from_reading,
                    const Polyline& from_points) {
  std::vector<ScaleDrawn> scale = drawing.scale;
  scale.at(mark).from_reading = from_reading;
  scale.at(mark).from_points = from_points;
  return SetScale{scale};
}

Edit use_film_spacing() { return SetScale{}; }

}  // namespace canalrule::desk
