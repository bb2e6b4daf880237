#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include <canalrule/desk/drawing.hpp>
#include <canalrule/desk/sentence.hpp>

/// Edits as values: each changes a drawing, each has an exact inverse, each can be written down and replayed.
namespace canalrule::desk {

/// Moves a point that is there; sets apex and coronal reference where they are not. On a proposed line it
/// makes the line a drawn one.
struct MovePoint {
  PointPlace place;
  Point to;
};

/// The new point gets the place's index; the points from there on move up by one. Of lines only.
struct InsertPoint {
  PointPlace place;
  Point at;
};

/// Removes a point of a line, or clears apex or coronal reference.
struct RemovePoint {
  PointPlace place;
};

struct InsertCanal {
  std::size_t index = 0;
  CanalDrawn canal;
};

struct RemoveCanal {
  std::size_t index = 0;
};

/// Name, plan, a proposed line, its acceptance: everything of a canal that isn't one point.
struct ReplaceCanal {
  std::size_t index = 0;
  CanalDrawn canal;
};

struct SetScale {
  std::vector<ScaleDrawn> scale;
};

struct SetTooth {
  std::string tooth;
};

/// Which end of the grey is radiopaque and how grey follows exposure, where the film is to be overruled.
struct SetGrey {
  std::optional<Radiopaque> radiopaque;
  std::optional<Response> response;
};

struct SetNote {
  std::string note;
};

struct SetNotAssessable {
  std::optional<std::string> reason;
};

/// Everything at once: another film's marks taken over, or all begun anew.
struct SetDrawing {
  Drawing drawing;
};

using Edit = std::variant<MovePoint, InsertPoint, RemovePoint, InsertCanal, RemoveCanal, ReplaceCanal,
                          SetScale, SetTooth, SetGrey, SetNote, SetNotAssessable, SetDrawing>;

/// Whether the edit's place is in the drawing. All functions below take only such edits (else fault()).
bool applies(const Drawing& drawing, const Edit& edit);

Drawing applied(Drawing drawing, const Edit& edit);

/// An edit with the one that takes it back: applied(applied(d, forward), back) == d, exactly.
struct Change {
  Edit forward;
  Edit back;
};

Change change_of(const Drawing& before, Edit edit);

/// Two changes, one after the other, as one: where both move the same point (a drag). For merging on an undo
/// stack.
std::optional<Change> merged(const Change& first, const Change& second);

/// What the edit does, for a person: "Move a point of canal %1". For the undo stack's labels; `before` is the
/// drawing that it is made on.
Sentence words(const Drawing& before, const Edit& edit);

// The usual edits that aren't one point, made on a drawing. `canal` and `mark` are indices.
Edit add_canal(const Drawing& drawing, const std::string& name);
Edit rename_canal(const Drawing& drawing, std::size_t canal, const std::string& name);
Edit set_planned(const Drawing& drawing, std::size_t canal, const std::optional<Planned>& planned);
Edit set_line(const Drawing& drawing, std::size_t canal, const Polyline& path, LineSource source);
Edit accept_line(const Drawing& drawing, std::size_t canal);
Edit add_scale(const Drawing& drawing, ScaleDrawn::Kind kind);
Edit remove_scale(const Drawing& drawing, std::size_t mark);
Edit set_scale_size(const Drawing& drawing, std::size_t mark, std::optional<double> size_mm,
                    std::optional<double> uncertainty_mm);
Edit set_scale_from(const Drawing& drawing, std::size_t mark, const std::string& from_reading,
                    const Polyline& from_points);
/// No marks: the film's own spacing serves.
Edit use_film_spacing();

}  // namespace canalrule::desk
