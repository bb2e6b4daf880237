#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include <canalrule/desk/drawing.hpp>
#include <canalrule/desk/edit.hpp>
#include <canalrule/desk/sentence.hpp>
#include <canalrule/film/film.hpp>

/// The three steps at a film, in any order: scale, canals, apex of each. Nothing here changes anything: a
/// click is answered with the edits that it means.
namespace canalrule::desk {

enum class Step { scale, canals, apex };
enum class StepState { missing, begun, done };

struct StepStatus {
  Step step = Step::scale;
  StepState state = StepState::missing;
  Sentence text;  ///< what has been done or what is missing
};

/// In the order scale, canals, apex. `spacing`: what the film says of its own scale.
std::array<StepStatus, 3> steps(const Drawing& drawing, const std::optional<Spacing>& spacing);

/// What is still missing for a measurement, most important first; empty where it can be made.
std::vector<Sentence> missing(const Drawing& drawing, const std::optional<Spacing>& spacing);

/// What a film's own spacing is worth as a scale.
Sentence worth_of(const Spacing& spacing);

/// What the next click does.
enum class Hand {
  nothing,            ///< picks marks up only
  scale_points,       ///< next point of scale mark `item` on this film
  scale_from_points,  ///< next landmark of scale mark `item` on the other film
  canal_points,       ///< next point along canal `item`, from the orifice to the apex
  canal_ends,         ///< orifice, then apex of canal `item`; the program then proposes the line
  apex,               ///< the radiographic apex of canal `item`
  coronal_reference   ///< where the working length of canal `item` is measured from
};

struct Pen {
  Hand hand = Hand::nothing;
  std::size_t item = 0;
  friend bool operator==(const Pen&, const Pen&) = default;
};

/// What the next click does, in plain words.
Sentence next_click(const Drawing& drawing, const Pen& pen);

/// What a click means: `edits`, to be made one after the other (one step to undo), the pen afterwards, and
/// the canal whose line is to be proposed now that both its ends are known.
struct Click {
  std::vector<Edit> edits;
  Pen pen;
  std::optional<std::size_t> propose;
};

/// `at` is on this film; on the other one for Hand::scale_from_points.
Click click(const Drawing& drawing, const Pen& pen, Point at);

/// The pen after the person says that a line is finished: from a canal's line to its apex where that is
/// missing, from the landmarks here to those on the other film, else Hand::nothing.
Pen finished(const Drawing& drawing, const Pen& pen);

/// The pen that goes on with the first mark that has been begun and isn't finished; Hand::nothing where none
/// is. Taken on opening a film and after each finished mark.
Pen pen_for(const Drawing& drawing);

/// A pen for a step, at its first unfinished mark. Where that needs a new canal or scale mark, the edit that
/// adds it comes along.
struct Begin {
  std::optional<Edit> edit;
  Pen pen;
};
Begin begin(const Drawing& drawing, Step step);

}  // namespace canalrule::desk
