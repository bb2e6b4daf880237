#include "magnifier.hpp"

#include <cmath>

#include <QPainter>

#include "look.hpp"

namespace canalrule::window {

namespace {

constexpr int reach_px = 10;        // film pixels to each side of the one under the pointer
constexpr int pixel_size_px = 8;    // on screen
constexpr int side_px = (2 * reach_px + 1) * pixel_size_px;

}  // namespace

Magnifier::Magnifier(QWidget* parent) : QWidget(parent) {
  setAttribute(Qt::WA_TransparentForMouseEvents);
  setFixedSize(side_px + 2, side_px + 2 + fontMetrics().height() + 4);
  setAccessibleName(tr("Magnifier"));
  setAccessibleDescription(tr("The film's pixels under the pointer"));
  hide();
}

void Magnifier::look_at(const Film& film, const desk::Tone& tone, Point at) {
  const QPoint pixel(static_cast<int>(std::floor(at.x)), static_cast<int>(std::floor(at.y)));
  region_ = QRect(pixel.x() - reach_px, pixel.y() - reach_px, 2 * reach_px + 1, 2 * reach_px + 1) &
            QRect(0, 0, film.grey.cols, film.grey.rows);
  if (region_.isEmpty()) return look_away();
  const cv::Mat shown =
      desk::shown_picture(film, tone, cv::Rect(region_.x(), region_.y(), region_.width(), region_.height()));
  pixels_ = QImage(shown.data, shown.cols, shown.rows, static_cast<qsizetype>(shown.step[0]),
                   QImage::Format_Grayscale8).copy();
  at_ = at;
  const std::optional<double> grey = desk::grey_under(film, at);
  const QString where = tr("%1, %2").arg(at.x, 0, 'f', 1).arg(at.y, 0, 'f', 1);
  place_ = grey ? tr("%1   grey %2").arg(where).arg(*grey, 0, 'g', 6) : where;
  show();
  update();
}

void Magnifier::look_away() { hide(); }

void Magnifier::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  painter.fillRect(rect(), ground);
  const QPoint pixel(static_cast<int>(std::floor(at_.x)), static_cast<int>(std::floor(at_.y)));
  const auto on_glass = [&](double x, double y) {
    return QPointF(1.0 + (x - pixel.x() + reach_px) * pixel_size_px, 1.0 + (y - pixel.y() + reach_px) * pixel_size_px);
  };
  const QRectF shown(on_glass(region_.left(), region_.top()),
                     QSizeF(region_.width() * pixel_size_px, region_.height() * pixel_size_px));
  painter.drawImage(shown, pixels_);
  const QPointF cross = on_glass(at_.x, at_.y);
  painter.setClipRect(QRect(1, 1, side_px, side_px));
  cased(painter, screen_pen(accent, 1.0), [&](QPainter& p) {
    p.drawLine(QPointF(cross.x(), 1.0), cross - QPointF(0.0, 6.0));
    p.drawLine(cross + QPointF(0.0, 6.0), QPointF(cross.x(), side_px));
    p.drawLine(QPointF(1.0, cross.y()), cross - QPointF(6.0, 0.0));
    p.drawLine(cross + QPointF(6.0, 0.0), QPointF(side_px, cross.y()));
  });
  painter.setClipping(false);
  painter.setPen(text_ink);
  painter.drawText(QRect(4, side_px + 2, width() - 8, height() - side_px - 3), Qt::AlignVCenter, place_);
  painter.setPen(edge);
  painter.drawRect(rect().adjusted(0, 0, -1, -1));
}

}  // namespace canalrule::window
