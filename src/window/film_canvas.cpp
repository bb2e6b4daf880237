#include "film_canvas.hpp"

#include <cmath>
#include <utility>

#include <QEvent>
#include <QPainter>
#include <QWheelEvent>

#include "look.hpp"

namespace canalrule::window {

namespace {

constexpr double zoom_step = 1.25;           // of a key
constexpr double zoom_per_notch = 1.2;       // of a wheel
constexpr double angle_per_notch = 120.0;    // QWheelEvent::angleDelta, in eighths of a degree

/// The toned film as an image of its own.
QImage image_of(const cv::Mat& grey) {
  return QImage(grey.data, grey.cols, grey.rows, static_cast<qsizetype>(grey.step[0]),
                QImage::Format_Grayscale8).copy();
}

}  // namespace

FilmCanvas::FilmCanvas(QWidget* parent) : QWidget(parent) {
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
  setAttribute(Qt::WA_OpaquePaintEvent);
}

void FilmCanvas::show_film(std::optional<Film> film) {
  film_ = std::move(film);
  if (film_) {
    view_.set_film({film_->grey.cols, film_->grey.rows}, film_->row_to_column_aspect);
    tone_ = desk::automatic_tone(*film_);
    whole_ = image_of(desk::shown_picture(*film_, tone_));
  } else {
    whole_ = {};
  }
  half_ = {};
  fit();
  Q_EMIT tone_changed();
}

void FilmCanvas::set_tone(const desk::Tone& tone) {
  if (!film_ || tone == tone_) return;
  tone_ = tone;
  whole_ = image_of(desk::shown_picture(*film_, tone_));
  half_ = {};
  stale_ = true;
  update();
  Q_EMIT tone_changed();
}

void FilmCanvas::fit() {
  fitted_ = true;
  view_.set_widget(size());
  view_.fit();
  view_moved();
}

void FilmCanvas::one_to_one() {
  fitted_ = false;
  view_.one_to_one(devicePixelRatioF());
  view_moved();
}

void FilmCanvas::zoom_in() { zoom_by(zoom_step, zoom_centre()); }
void FilmCanvas::zoom_out() { zoom_by(1.0 / zoom_step, zoom_centre()); }

void FilmCanvas::invert() {
  desk::Tone tone = tone_;
  tone.shown = tone.shown == desk::Shown::inverted ? desk::Shown::as_stored : desk::Shown::inverted;
  set_tone(tone);
}

void FilmCanvas::reveal(Point place) {
  view_.reveal(place);
  view_moved();
}

QPointF FilmCanvas::zoom_centre() const { return {width() / 2.0, height() / 2.0}; }

void FilmCanvas::move_view(QPointF by) {
  fitted_ = false;
  view_.pan(by);
  view_moved();
}

void FilmCanvas::zoom_by(double factor, QPointF about) {
  if (!film_) return;
  fitted_ = false;
  view_.zoom(factor, about);
  view_moved();
}

void FilmCanvas::view_moved() {
  stale_ = true;
  update();
  Q_EMIT view_changed();
}

void FilmCanvas::render_film() {
  const double ratio = devicePixelRatioF();
  rendered_ = QPixmap(size() * ratio);
  rendered_.setDevicePixelRatio(ratio);
  rendered_.fill(ground);
  QPainter painter(&rendered_);
  painter.setRenderHint(QPainter::SmoothPixmapTransform);
  painter.setTransform(view_.film_to_screen());
  // Every pixel of the film counts in a small view: halved by averaging before it is sampled.
  const bool small = view_.zoom() * ratio < 0.6 && whole_.width() > 8 && whole_.height() > 8;
  if (small && half_.isNull())
    half_ = whole_.scaled(whole_.width() / 2, whole_.height() / 2, Qt::IgnoreAspectRatio,
                          Qt::SmoothTransformation);
  const QImage& source = small ? half_ : whole_;
  painter.drawImage(QRectF(QPointF(0.0, 0.0), QSizeF(view_.film())), source, QRectF(source.rect()));
  stale_ = false;
  settled_ = {};
}

void FilmCanvas::settled_changed() {
  settled_ = {};
  update();
}

void FilmCanvas::render_settled() {
  settled_ = rendered_;
  QPainter painter(&settled_);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setFont(font());
  draw_settled(painter);
}

void FilmCanvas::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  if (!film_) {
    painter.fillRect(rect(), ground);
    draw_empty(painter);
    return;
  }
  if (stale_ || rendered_.size() != size() * devicePixelRatioF()) render_film();
  if (settled_.isNull()) render_settled();
  painter.drawPixmap(0, 0, settled_);
  painter.setRenderHint(QPainter::Antialiasing);
  draw_marks(painter);
  if (hasFocus()) {
    painter.setPen(QPen(accent, 1.0));
    painter.setBrush(Qt::NoBrush);
    painter.drawRect(QRectF(rect()).adjusted(0.5, 0.5, -0.5, -0.5));
  }
}

void FilmCanvas::resizeEvent(QResizeEvent*) {
  view_.set_widget(size());
  if (fitted_) view_.fit();
  view_moved();
}

void FilmCanvas::wheelEvent(QWheelEvent* event) {
  const double notches = event->angleDelta().y() / angle_per_notch;
  zoom_by(std::pow(zoom_per_notch, notches), event->position());
  event->accept();
}

}  // namespace canalrule::window
