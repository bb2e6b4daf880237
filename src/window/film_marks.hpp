#pragma once

#include <optional>

#include <QPainter>

#include <canalrule/desk/marks.hpp>

#include "bench.hpp"
#include "view_port.hpp"

namespace canalrule::window {

/// Which mark is under the pointer and which one the keyboard holds.
struct MarkFocus {
  std::optional<desk::PointPlace> hovered, held;
};

/// What was drawn: the marks of scale, canals and apices, on this film or on the one the scale comes from.
/// Constant in size on screen; told apart by shape and line style.
void draw_drawn(QPainter& painter, const ViewPort& view, const Bench& bench, desk::WhichFilm which,
                const MarkFocus& focus);

/// What was measured: centre line, outline, terminus, voids, breaks, stretches that can't be assessed.
void draw_found(QPainter& painter, const ViewPort& view, const Bench& bench);

/// The place that is pointed at beside the film.
void draw_pointed(QPainter& painter, const ViewPort& view, const Bench& bench);

}  // namespace canalrule::window
