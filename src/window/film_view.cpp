#include "film_view.hpp"

#include <QApplication>
#include <QFocusEvent>
#include <QMenu>
#include <QMouseEvent>
#include <QPainter>
#include <QTextDocument>

#include <cmath>
#include <utility>

#include "look.hpp"
#include "magnifier.hpp"

namespace canalrule::window {

namespace {

using desk::Hand;
using desk::PointPlace;

constexpr double click_px = 4.0;            // a press that moves less is a click; chosen here
constexpr double pointing_mm = 1.5;         // how far from a canal a place still means it
constexpr int magnifier_margin_px = 8;

double distance(QPointF a, QPointF b) { return QLineF(a, b).length(); }

}  // namespace

FilmView::FilmView(Bench& bench, desk::WhichFilm which, QWidget* parent)
    : FilmCanvas(parent), bench_(bench), which_(which), magnifier_(new Magnifier(this)) {
  const bool here = which == desk::WhichFilm::this_one;
  setAccessibleName(here ? tr("Film") : tr("The film that the scale comes from"));
  setAccessibleDescription(tr("Arrow keys move the cross, Enter clicks, Space picks a mark up and puts it down"));
  const auto redraw = qOverload<>(&QWidget::update);
  connect(&bench, &Bench::drawing_changed, this, [this] {
    // A canal that goes takes what was found of it along.
    const std::size_t canals = bench_.drawing().canals.size();
    if (std::exchange(canals_, canals) != canals) settled_changed();
    update();
  });
  connect(&bench, &Bench::answer_changed, this, [this] { settled_changed(); });
  connect(&bench, &Bench::pointed_changed, this, redraw);
  connect(&bench, &Bench::pen_changed, this, [this] {
    setCursor(pen_is_here() && bench_.pen().hand != Hand::nothing ? Qt::CrossCursor : Qt::ArrowCursor);
    update();
  });
}

void FilmView::set_empty_text(const QString& words) {
  empty_text_ = words;
  update();
}

void FilmView::set_marks_shown(bool shown) {
  marks_shown_ = shown;
  settled_changed();
}

void FilmView::set_magnifier_shown(bool shown) {
  magnifier_shown_ = shown;
  if (!shown) magnifier_->look_away();
}

desk::Reach FilmView::reach() const { return {.screen_px_per_film_px = view_port().zoom()}; }

/// Whether the next click belongs on this film rather than on the other one.
bool FilmView::pen_is_here() const {
  return (bench_.pen().hand == Hand::scale_from_points) == (which_ == desk::WhichFilm::other);
}

void FilmView::draw_settled(QPainter& painter) {
  if (bench_.has_film() && marks_shown_ && which_ == desk::WhichFilm::this_one)
    draw_found(painter, view_port(), bench_);
}

void FilmView::draw_marks(QPainter& painter) {
  if (!bench_.has_film()) return;
  if (marks_shown_) draw_drawn(painter, view_port(), bench_, which_, focus_);
  if (which_ == desk::WhichFilm::this_one) draw_pointed(painter, view_port(), bench_);
  if (by_keyboard_ && cursor_ && hasFocus()) {
    const QPointF at = view_port().on_screen(*cursor_);
    cased(painter, screen_pen(accent, 1.2), [&](QPainter& p) {
      for (const QPointF& way : {QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)})
        p.drawLine(at + way * 5.0, at + way * 18.0);
    });
  }
}

void FilmView::draw_empty(QPainter& painter) {
  QTextDocument document;
  document.setDefaultFont(font());
  document.setDefaultStyleSheet(QStringLiteral("body { color: %1; }").arg(soft_ink.name()));
  document.setHtml(QStringLiteral("<body>%1</body>").arg(empty_text_));
  document.setTextWidth(qMin(width() - 32.0, 460.0));
  painter.translate((width() - document.textWidth()) / 2.0, qMax(16.0, (height() - document.size().height()) / 2.0));
  document.drawContents(&painter);
}

QPointF FilmView::zoom_centre() const {
  if (cursor_ && (by_keyboard_ || underMouse())) return view_port().on_screen(*cursor_);
  return FilmCanvas::zoom_centre();
}

void FilmView::look_under(Point at) {
  cursor_ = at;
  focus_.hovered = desk::point_under(bench_.drawing(), at, reach(), which_);
  show_cursor_place();
  update();
}

/// Magnifier, and the same place beside the film.
void FilmView::show_cursor_place() {
  if (!cursor_ || !has_film()) return;
  if (magnifier_shown_) {
    magnifier_->look_at(film(), tone(), *cursor_);
    place_magnifier();
  }
  if (which_ != desk::WhichFilm::this_one) return;
  std::optional<PointedAt> nearest;
  double least = pointing_mm;
  for (std::size_t i = 0; i < bench_.drawing().canals.size(); ++i) {
    const desk::UnrolledCanal* unrolled = bench_.unrolled(i);
    if (unrolled == nullptr) continue;
    const desk::UnrolledCanal::Place place = unrolled->of_film(*cursor_);
    if (place.at_mm < unrolled->first_mm() || place.at_mm > unrolled->last_mm()) continue;
    if (std::abs(place.across_mm) >= least) continue;
    least = std::abs(place.across_mm);
    nearest = PointedAt{i, place.at_mm};
  }
  bench_.point_at(nearest);
}

/// In the corner that is farthest from the pointer, of the two at the top.
void FilmView::place_magnifier() {
  const QPointF at = view_port().on_screen(*cursor_);
  const bool left = at.x() > width() / 2.0;
  magnifier_->move(left ? magnifier_margin_px : width() - magnifier_->width() - magnifier_margin_px,
                   magnifier_margin_px);
}

void FilmView::mousePressEvent(QMouseEvent* event) {
  if (!has_film() || dragging_ != Dragging::nothing) return;
  by_keyboard_ = false;
  focus_.held.reset();
  button_ = event->button();
  pressed_at_ = last_at_ = event->position();
  dragging_ = Dragging::pressed;
}

/// What a press becomes once it moves.
void FilmView::start_drag(QPointF screen) {
  const Point from = view_port().on_film(pressed_at_);
  if (button_ == Qt::RightButton) {
    dragging_ = Dragging::tone;
    return;
  }
  dragging_ = Dragging::film;
  if (button_ != Qt::LeftButton || !marks_shown_) return;
  if (const auto place = desk::point_under(bench_.drawing(), from, reach(), which_)) {
    const Point mark = *desk::point_at(bench_.drawing(), *place);
    moved_ = *place;
    grip_ = {mark.x - from.x, mark.y - from.y};
    drag_ = bench_.new_drag();
    dragging_ = Dragging::mark;
  } else if (which_ == desk::WhichFilm::this_one) {
    const auto line = desk::line_under(bench_.drawing(), from, reach(), film().row_to_column_aspect);
    if (!line) return;
    bench_.edit(desk::InsertPoint{line->place, line->on_line});
    moved_ = line->place;
    grip_ = {0.0, 0.0};
    drag_ = bench_.new_drag();
    dragging_ = Dragging::mark;
  }
  last_at_ = screen;
}

void FilmView::mouseMoveEvent(QMouseEvent* event) {
  if (!has_film()) return;
  const QPointF at = event->position();
  if (dragging_ == Dragging::pressed && distance(at, pressed_at_) >= click_px) start_drag(at);
  const Point place = view_port().on_film(at);
  switch (dragging_) {
    case Dragging::mark:
      focus_.held = moved_;
      bench_.edit(desk::MovePoint{moved_, {place.x + grip_.x, place.y + grip_.y}}, drag_);
      break;
    case Dragging::film:
      move_view(at - last_at_);
      break;
    case Dragging::tone:
      set_tone(desk::dragged(tone(), film(), at.x() - last_at_.x(), at.y() - last_at_.y()));
      break;
    case Dragging::nothing:
    case Dragging::pressed:
      by_keyboard_ = false;
      break;
  }
  last_at_ = at;
  if (view_port().on_film_at(at)) {
    look_under(place);
  } else {
    magnifier_->look_away();
    bench_.point_at(std::nullopt);
  }
}

void FilmView::mouseReleaseEvent(QMouseEvent* event) {
  if (event->button() != button_) return;
  const bool clicked = dragging_ == Dragging::pressed;
  dragging_ = Dragging::nothing;
  button_ = Qt::NoButton;
  focus_.held.reset();
  update();
  if (!clicked || !has_film()) return;
  if (event->button() == Qt::RightButton) {
    offer(event->position(), event->globalPosition().toPoint());
  } else if (event->button() == Qt::LeftButton && view_port().on_film_at(pressed_at_) && pen_is_here()) {
    bench_.click(view_port().on_film(pressed_at_));
  }
}

void FilmView::mouseDoubleClickEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton && has_film()) bench_.finish_mark();
}

void FilmView::leaveEvent(QEvent*) {
  focus_.hovered.reset();
  magnifier_->look_away();
  bench_.point_at(std::nullopt);
  update();
}

/// What can be done at a place, as a menu that waits for nobody.
void FilmView::offer(QPointF screen, QPoint global) {
  const Point at = view_port().on_film(screen);
  auto* menu = new QMenu(this);
  menu->setAttribute(Qt::WA_DeleteOnClose);
  const auto point = desk::point_under(bench_.drawing(), at, reach(), which_);
  if (point)
    menu->addAction(tr("Remove this point"), this, [this, point] { bench_.edit(desk::RemovePoint{*point}); });
  if (which_ == desk::WhichFilm::this_one) {
    const auto line = desk::line_under(bench_.drawing(), at, reach(), film().row_to_column_aspect);
    if (line && !point)
      menu->addAction(tr("Add a point to this line here"), this,
                      [this, line] { bench_.edit(desk::InsertPoint{line->place, line->on_line}); });
    const std::size_t canal = bench_.current_canal();
    if (canal < bench_.drawing().canals.size()) {
      const QString name = QString::fromStdString(bench_.drawing().canals[canal].name);
      menu->addAction(tr("The radiographic apex of canal %1 is here").arg(name), this, [this, canal, at] {
        bench_.edit(desk::MovePoint{{PointPlace::Of::apex, canal, 0}, at});
      });
      menu->addAction(tr("The working length of canal %1 is measured from here").arg(name), this, [this, canal, at] {
        bench_.edit(desk::MovePoint{{PointPlace::Of::coronal_reference, canal, 0}, at});
      });
    }
  }
  menu->addSeparator();
  menu->addAction(tr("Show the whole film"), this, [this] { fit(); });
  menu->popup(global);
}

void FilmView::resizeEvent(QResizeEvent* event) {
  FilmCanvas::resizeEvent(event);
  if (cursor_ && magnifier_->isVisible()) place_magnifier();
}

void FilmView::focusOutEvent(QFocusEvent* event) {
  // A menu or another window takes the focus for a moment only: what is held stays held.
  if (event->reason() != Qt::PopupFocusReason && event->reason() != Qt::ActiveWindowFocusReason) focus_.held.reset();
  FilmCanvas::focusOutEvent(event);
  update();
}

}  // namespace canalrule::window
