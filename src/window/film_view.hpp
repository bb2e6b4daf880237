#pragma once

#include <optional>

#include <QPoint>

#include "film_canvas.hpp"
#include "film_marks.hpp"

namespace canalrule::window {

class Magnifier;

/// The film to draw on, by mouse and by keyboard alike.
///
/// Mouse: a click does what the pen does; dragging a mark moves it; dragging a line adds a point to it; dragging
/// elsewhere moves the film; the right button drags brightness and contrast, and without a drag offers what can
/// be done there; the wheel zooms about the pointer; a double click ends the line.
/// Keyboard: the arrows move a cross (a film pixel; with Shift ten, with Ctrl a tenth; with Alt the film), Enter
/// clicks there, Space picks the mark under it up and puts it down, comma and full stop go from mark to mark,
/// Delete removes, Insert adds a point, Escape lets go.
class FilmView : public FilmCanvas {
  Q_OBJECT

 public:
  FilmView(Bench& bench, desk::WhichFilm which, QWidget* parent = nullptr);

  /// What stands where there is no film yet.
  void set_empty_text(const QString& words);
  /// The keyboard's cross, or the mouse's last place over the film.
  const std::optional<Point>& cursor() const { return cursor_; }

 public Q_SLOTS:
  void set_marks_shown(bool shown);
  void set_magnifier_shown(bool shown);
  void remove_mark();
  void insert_point();

 protected:
  void draw_settled(QPainter& painter) override;
  void draw_marks(QPainter& painter) override;
  void draw_empty(QPainter& painter) override;
  QPointF zoom_centre() const override;

  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  enum class Dragging { nothing, pressed, mark, film, tone };

  desk::Reach reach() const;
  bool pen_is_here() const;
  void look_under(Point at);
  void start_drag(QPointF screen);
  void offer(QPointF screen, QPoint global);
  void move_cross(QKeyEvent* event);
  void step_to_mark(int way);
  void pick_up_or_put_down();
  void put_at_cursor();
  void place_magnifier();
  void show_cursor_place();
  Point cross_start();

  Bench& bench_;
  desk::WhichFilm which_;
  Magnifier* magnifier_;
  QString empty_text_;
  bool marks_shown_ = true;
  std::size_t canals_ = 0;  ///< when the last change of the drawing was seen
  bool magnifier_shown_ = true;

  Dragging dragging_ = Dragging::nothing;
  Qt::MouseButton button_ = Qt::NoButton;
  QPointF pressed_at_, last_at_;
  desk::PointPlace moved_;
  Point grip_;  ///< from the pointer to the mark that is dragged, in film pixels
  int drag_ = 0;

  std::optional<Point> cursor_;
  bool by_keyboard_ = false;
  MarkFocus focus_;
};

}  // namespace canalrule::window
