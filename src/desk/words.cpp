#include <variant>

#include <canalrule/desk/edit.hpp>
#include <canalrule/desk/entry.hpp>

namespace canalrule::desk {

namespace {

using Of = PointPlace::Of;

enum class Done { moved, added, removed };

Sentence point_words(const Drawing& before, const PointPlace& place, Done done) {
  const bool of_scale = place.of == Of::scale || place.of == Of::scale_from;
  const std::string canal = of_scale ? "" : before.canals[place.item].name;
  if (of_scale) {
    switch (done) {
      case Done::moved: return {"Move a point of the scale", {}};
      case Done::added: return {"Add a point to the scale", {}};
      case Done::removed: return {"Remove a point of the scale", {}};
    }
  }
  if (place.of == Of::apex) {
    if (done == Done::removed) return {"Remove the apex of canal %1", {canal}};
    return {before.canals[place.item].apex ? "Move the apex of canal %1" : "Set the apex of canal %1",
            {canal}};
  }
  if (place.of == Of::coronal_reference) {
    if (done == Done::removed) return {"Remove the coronal reference of canal %1", {canal}};
    return {"Set the coronal reference of canal %1", {canal}};
  }
  switch (done) {
    case Done::moved: return {"Move a point of canal %1", {canal}};
    case Done::added: return {"Add a point to canal %1", {canal}};
    case Done::removed: break;
  }
  return {"Remove a point of canal %1", {canal}};
}

Sentence scale_words(const std::vector<ScaleDrawn>& before, const std::vector<ScaleDrawn>& after) {
  if (after.size() > before.size()) return {"Begin a scale mark", {}};
  if (after.empty() && !before.empty()) return {"Remove all scale marks", {}};
  if (after.size() < before.size()) return {"Remove a scale mark", {}};
  for (std::size_t i = 0; i < after.size(); ++i) {
    const bool sized = after[i].size_mm && after[i].size_mm != before[i].size_mm;
    if (!sized) continue;
    const std::string size = shown_number(*after[i].size_mm, 3);
    if (after[i].kind == ScaleDrawn::Kind::known_width) return {"Set the known width to %1 mm", {size}};
    return {"Set the known length to %1 mm", {size}};
  }
  return {"Change the scale", {}};
}

struct Worder {
  const Drawing& before;

  Sentence operator()(const MovePoint& edit) const { return point_words(before, edit.place, Done::moved); }
  Sentence operator()(const InsertPoint& edit) const { return point_words(before, edit.place, Done::added); }
  Sentence operator()(const RemovePoint& edit) const {
    return point_words(before, edit.place, Done::removed);
  }
  Sentence operator()(const InsertCanal& edit) const { return {"Add canal %1", {edit.canal.name}}; }
  Sentence operator()(const RemoveCanal& edit) const {
    return {"Remove canal %1", {before.canals[edit.index].name}};
  }
  Sentence operator()(const ReplaceCanal& edit) const {
    const CanalDrawn& was = before.canals[edit.index];
    if (was.name != edit.canal.name) return {"Rename canal %1 to %2", {was.name, edit.canal.name}};
    if (was.path != edit.canal.path && edit.canal.line == LineSource::proposed)
      return {"Propose a line for canal %1", {was.name}};
    if (was.line == LineSource::proposed && edit.canal.line == LineSource::drawn &&
        was.path == edit.canal.path)
      return {"Accept the proposed line of canal %1", {was.name}};
    if (was.planned != edit.canal.planned) return {"Change the plan of canal %1", {was.name}};
    return {"Change canal %1", {was.name}};
  }
  Sentence operator()(const SetScale& edit) const { return scale_words(before.scale, edit.scale); }
  Sentence operator()(const SetTooth& edit) const {
    if (edit.tooth.empty()) return {"Clear the tooth", {}};
    return {"Set the tooth to %1", {edit.tooth}};
  }
  Sentence operator()(const SetGrey&) const { return {"Change how the grey is read", {}}; }
  Sentence operator()(const SetNote&) const { return {"Change the note", {}}; }
  Sentence operator()(const SetNotAssessable& edit) const {
    return {edit.reason ? "Say that the film is not assessable" : "Say that the film is assessable", {}};
  }
  Sentence operator()(const SetDrawing&) const { return {"Replace all marks", {}}; }
};

}  // namespace

Sentence words(const Drawing& before, const Edit& edit) { return std::visit(Worder{before}, edit); }

}  // namespace canalrule::desk
