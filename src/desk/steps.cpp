#include <canalrule/desk/steps.hpp>

#include <algorithm>
#include <filesystem>
#include <string>

#include <canalrule/desk/entry.hpp>

namespace canalrule::desk {

namespace {

using Kind = ScaleDrawn::Kind;

/// What an unfinished scale mark still needs.
Sentence lacks(const ScaleDrawn& mark) {
  if (mark.points.size() < 2) {
    switch (mark.kind) {
      case Kind::known_length: return {"Mark the object of known length from end to end.", {}};
      case Kind::known_width: return {"Mark the object of known width from side to side.", {}};
      case Kind::carried: return {"Mark the two landmarks on this film.", {}};
    }
  }
  if (mark.kind == Kind::carried) {
    if (mark.from_reading.empty()) return {"Say which film's scale is carried over.", {}};
    if (mark.from_points.size() != 2) return {"Mark the same two landmarks on the other film.", {}};
  }
  if (mark.kind == Kind::known_length && !mark.size_mm) return {"Say how long the marked object is.", {}};
  if (mark.kind == Kind::known_width && !mark.size_mm) return {"Say how wide the marked object is.", {}};
  return {"The scale's points all lie in one place.", {}};
}

/// What a mark that is finished says.
Sentence says(const ScaleDrawn& mark) {
  if (mark.kind == Kind::carried)
    return {"The scale is carried over from %1.",
            {std::filesystem::path(mark.from_reading).filename().string()}};
  const std::string size = shown_number(*mark.size_mm, 3);
  if (mark.kind == Kind::known_width) return {"A width of %1 mm gives the scale across.", {size}};
  return {"A length of %1 mm gives the scale.", {size}};
}

bool any_scale(const Drawing& drawing) {
  return std::any_of(drawing.scale.begin(), drawing.scale.end(),
                     [](const ScaleDrawn& m) { return complete(m); });
}

StepStatus scale_step(const Drawing& drawing, const std::optional<Spacing>& spacing) {
  for (const ScaleDrawn& mark : drawing.scale)
    if (!complete(mark)) return {Step::scale, StepState::begun, lacks(mark)};
  if (drawing.scale.size() > 1)
    return {Step::scale,
            StepState::done,
            {"%1 marks give the scale together.", {std::to_string(drawing.scale.size())}}};
  if (!drawing.scale.empty()) return {Step::scale, StepState::done, says(drawing.scale.front())};
  if (spacing) return {Step::scale, StepState::done, worth_of(*spacing)};
  return {Step::scale,
          StepState::missing,
          {"No scale yet: mark a file of known length, or carry the scale over from the film that shows it.",
           {}}};
}

StepStatus canals_step(const Drawing& drawing) {
  if (drawing.canals.empty()) return {Step::canals, StepState::missing, {"No canal yet.", {}}};
  for (const CanalDrawn& canal : drawing.canals)
    if (canal.path.size() < 2)
      return {Step::canals, StepState::begun, {"Canal %1 has no line yet.", {canal.name}}};
  for (const CanalDrawn& canal : drawing.canals)
    if (canal.line == LineSource::proposed)
      return {Step::canals,
              StepState::done,
              {"The line of canal %1 is a proposal: accept it, or drag a point of it.", {canal.name}}};
  if (drawing.canals.size() == 1)
    return {Step::canals, StepState::done, {"Canal %1 is drawn.", {drawing.canals.front().name}}};
  return {Step::canals, StepState::done, {"%1 canals are drawn.", {std::to_string(drawing.canals.size())}}};
}

StepStatus apex_step(const Drawing& drawing) {
  bool any = false;
  const CanalDrawn* without = nullptr;
  for (const CanalDrawn& canal : drawing.canals) {
    any = any || canal.apex;
    if (!canal.apex && without == nullptr) without = &canal;
  }
  if (without != nullptr)
    return {Step::apex,
            any ? StepState::begun : StepState::missing,
            {"Canal %1 has no apex yet.", {without->name}}};
  if (!any) return {Step::apex, StepState::missing, {"No apex yet.", {}}};
  return {Step::apex,
          StepState::done,
          {drawing.canals.size() == 1 ? "The apex is set." : "The apex of every canal is set.", {}}};
}

Pen scale_pen(const Drawing& drawing, std::size_t item) {
  const ScaleDrawn& mark = drawing.scale[item];
  if (mark.points.size() < 2) return {Hand::scale_points, item};
  if (mark.kind == Kind::carried && mark.from_points.size() < 2) return {Hand::scale_from_points, item};
  return {};
}

}  // namespace

std::array<StepStatus, 3> steps(const Drawing& drawing, const std::optional<Spacing>& spacing) {
  return {scale_step(drawing, spacing), canals_step(drawing), apex_step(drawing)};
}

std::vector<Sentence> missing(const Drawing& drawing, const std::optional<Spacing>& spacing) {
  std::vector<Sentence> out;
  if (drawing.not_assessable)
    out.push_back({"The film is marked as not assessable: %1", {*drawing.not_assessable}});
  if (!any_scale(drawing) && !spacing) out.push_back(scale_step(drawing, spacing).text);
  const bool any_canal = std::any_of(drawing.canals.begin(), drawing.canals.end(),
                                     [](const CanalDrawn& canal) { return complete(canal); });
  if (any_canal) return out;
  const StepStatus canals = canals_step(drawing), apex = apex_step(drawing);
  if (canals.state != StepState::done) out.push_back(canals.text);
  if (apex.state != StepState::done) out.push_back(apex.text);
  if (canals.state == StepState::done && apex.state == StepState::done)
    out.push_back({"The line of canal %1 is shorter than a pixel, or the canal has no name.",
                   {drawing.canals.front().name}});
  return out;
}

Sentence worth_of(const Spacing& spacing) {
  const bool at_detector =
      spacing.kind == SpacingKind::imager || spacing.kind == SpacingKind::nominal_scanned;
  if (at_detector && spacing.magnification)
    return {"The film's own spacing, corrected by an estimated magnification of %1.",
            {shown_number(*spacing.magnification, 3)}};
  switch (spacing.kind) {
    case SpacingKind::calibrated:
      if (spacing.calibration_type == "FIDUCIAL")
        return {"The film's own spacing, calibrated by an object of known size.", {}};
      if (spacing.calibration_type == "GEOMETRY")
        return {"The film's own spacing, corrected for a geometry that was assumed or known.", {}};
      return {"The film's own spacing, calibrated in a way that is not said.", {}};
    case SpacingKind::patient:
      return {
          "The film's own spacing; what it refers to is not said, so lengths may be too long by up to about "
          "a tenth.",
          {}};
    case SpacingKind::imager:
      return {
          "The film's own spacing at the detector; the magnification is unknown, so lengths may be too long "
          "by up to about a tenth.",
          {}};
    case SpacingKind::nominal_scanned: break;
  }
  return {
      "The spacing at which the film was scanned; the magnification is unknown, so lengths may be too long "
      "by "
      "up to about a tenth.",
      {}};
}

Pen finished(const Drawing& drawing, const Pen& pen) {
  switch (pen.hand) {
    case Hand::scale_points:
      if (pen.item < drawing.scale.size()) return scale_pen(drawing, pen.item);
      break;
    case Hand::canal_points:
      if (pen.item < drawing.canals.size() && drawing.canals[pen.item].path.size() >= 2 &&
          !drawing.canals[pen.item].apex)
        return {Hand::apex, pen.item};
      break;
    default: break;
  }
  return {};
}

Pen pen_for(const Drawing& drawing) {
  for (std::size_t i = 0; i < drawing.scale.size(); ++i)
    if (const Pen pen = scale_pen(drawing, i); pen.hand != Hand::nothing) return pen;
  for (std::size_t i = 0; i < drawing.canals.size(); ++i)
    if (drawing.canals[i].path.size() < 2) return {Hand::canal_points, i};
  for (std::size_t i = 0; i < drawing.canals.size(); ++i)
    if (!drawing.canals[i].apex) return {Hand::apex, i};
  return {};
}

}  // namespace canalrule::desk
