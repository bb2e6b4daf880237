#include "film_view.hpp"

#include <algorithm>
#include <vector>

#include <QKeyEvent>

namespace canalrule::window {

namespace {

using desk::PointPlace;

constexpr double fine_px = 0.1, usual_px = 1.0, coarse_px = 10.0;  // film pixels per key; chosen here
constexpr double pan_px = 40.0;                                    // screen pixels per key

}  // namespace

/// Where the cross is, or the middle of what is in sight.
Point FilmView::cross_start() {
  if (!cursor_) cursor_ = view_port().on_film({width() / 2.0, height() / 2.0});
  by_keyboard_ = true;
  return *cursor_;
}

void FilmView::keyPressEvent(QKeyEvent* event) {
  if (!has_film()) return FilmCanvas::keyPressEvent(event);
  switch (event->key()) {
    case Qt::Key_Left:
    case Qt::Key_Right:
    case Qt::Key_Up:
    case Qt::Key_Down:
      return move_cross(event);
    case Qt::Key_Return:
    case Qt::Key_Enter:
      return put_at_cursor();
    case Qt::Key_Space:
      return pick_up_or_put_down();
    case Qt::Key_Comma:
      return step_to_mark(-1);
    case Qt::Key_Period:
      return step_to_mark(1);
    case Qt::Key_Delete:
    case Qt::Key_Backspace:
      return remove_mark();
    case Qt::Key_Insert:
      return insert_point();
    case Qt::Key_Escape:
      if (focus_.held)
        focus_.held.reset();
      else
        bench_.take_pen({});
      return update();
    default:
      FilmCanvas::keyPressEvent(event);
  }
}

void FilmView::move_cross(QKeyEvent* event) {
  const int key = event->key();
  const double x = key == Qt::Key_Left ? -1.0 : key == Qt::Key_Right ? 1.0 : 0.0;
  const double y = key == Qt::Key_Up ? -1.0 : key == Qt::Key_Down ? 1.0 : 0.0;
  if (event->modifiers() & Qt::AltModifier) return move_view({-x * pan_px, -y * pan_px});
  const double step = event->modifiers() & Qt::ShiftModifier     ? coarse_px
                      : event->modifiers() & Qt::ControlModifier ? fine_px
                                                                 : usual_px;
  Point at = cross_start();
  at.x = std::clamp(at.x + x * step, 0.0, static_cast<double>(film().grey.cols));
  at.y = std::clamp(at.y + y * step, 0.0, static_cast<double>(film().grey.rows));
  if (focus_.held) bench_.edit(desk::MovePoint{*focus_.held, at}, drag_);
  reveal(at);
  look_under(at);
}

void FilmView::step_to_mark(int way) {
  const std::vector<PointPlace> marks = desk::all_points(bench_.drawing(), which_);
  if (marks.empty()) return;
  const auto here = focus_.hovered ? std::find(marks.begin(), marks.end(), *focus_.hovered) : marks.end();
  const auto count = static_cast<std::ptrdiff_t>(marks.size());
  const std::ptrdiff_t from = here == marks.end() ? (way > 0 ? -1 : count) : here - marks.begin();
  const PointPlace& next = marks[static_cast<std::size_t>((from + way + count) % count)];
  cross_start();
  focus_.held.reset();
  cursor_ = *desk::point_at(bench_.drawing(), next);
  reveal(*cursor_);
  look_under(*cursor_);
  focus_.hovered = next;
}

void FilmView::pick_up_or_put_down() {
  if (focus_.held) {
    focus_.held.reset();
  } else {
    look_under(cross_start());
    focus_.held = focus_.hovered;
    drag_ = bench_.new_drag();
    if (focus_.held) cursor_ = desk::point_at(bench_.drawing(), *focus_.held);
  }
  update();
}

void FilmView::put_at_cursor() {
  const Point at = cross_start();
  if (focus_.held)
    focus_.held.reset();
  else if (pen_is_here())
    bench_.click(at);
  look_under(at);
}

void FilmView::remove_mark() {
  const std::optional<PointPlace> mark = focus_.held ? focus_.held : focus_.hovered;
  if (!mark) return;
  focus_ = {};
  bench_.edit(desk::RemovePoint{*mark});
  if (cursor_) look_under(*cursor_);
}

void FilmView::insert_point() {
  if (!has_film() || which_ != desk::WhichFilm::this_one) return;
  const auto line = desk::line_under(bench_.drawing(), cross_start(), reach(), film().row_to_column_aspect);
  if (!line) return;
  bench_.edit(desk::InsertPoint{line->place, line->on_line});
  look_under(line->on_line);
}

}  // namespace canalrule::window
