#include "view_port.hpp"

#include <algorithm>

namespace canalrule::window {

namespace {

constexpr double largest_zoom = 40.0;  // screen pixels per film pixel, chosen here: a pixel is 1 cm then
constexpr double edge_px = 24.0;       // of the film that always stays in sight, and about a revealed place
constexpr double fit_margin_px = 6.0;

}  // namespace

void ViewPort::set_film(QSize film, double row_to_column_aspect) {
  film_ = film;
  aspect_ = row_to_column_aspect;
}

void ViewPort::fit() {
  const double wide = widget_.width() - 2.0 * fit_margin_px, tall = widget_.height() - 2.0 * fit_margin_px;
  zoom_ = std::max(0.01, std::min(wide / film_.width(), tall / (film_.height() * aspect_)));
  centre_on({film_.width() / 2.0, film_.height() / 2.0});
}

void ViewPort::one_to_one(double device_pixel_ratio) {
  const QPointF middle(widget_.width() / 2.0, widget_.height() / 2.0);
  zoom(1.0 / device_pixel_ratio / zoom_, middle);
}

void ViewPort::zoom(double factor, QPointF about) {
  const double least = 0.25 * std::min({1.0, double(widget_.width()) / film_.width(),
                                        double(widget_.height()) / (film_.height() * aspect_)});
  const double wanted = std::clamp(zoom_ * factor, least, largest_zoom);
  const double real = wanted / zoom_;
  shift_ = about - (about - shift_) * real;
  zoom_ = wanted;
  keep_in_sight();
}

void ViewPort::pan(QPointF by) {
  shift_ += by;
  keep_in_sight();
}

void ViewPort::reveal(Point place) {
  const QPointF at = on_screen(place);
  const QPointF inside(std::clamp(at.x(), edge_px, std::max(edge_px, widget_.width() - edge_px)),
                       std::clamp(at.y(), edge_px, std::max(edge_px, widget_.height() - edge_px)));
  shift_ += inside - at;
}

void ViewPort::centre_on(Point place) {
  shift_ += QPointF(widget_.width() / 2.0, widget_.height() / 2.0) - on_screen(place);
}

QPointF ViewPort::on_screen(Point place) const {
  return {place.x * zoom_ + shift_.x(), place.y * zoom_ * aspect_ + shift_.y()};
}

Point ViewPort::on_film(QPointF screen) const {
  return {(screen.x() - shift_.x()) / zoom_, (screen.y() - shift_.y()) / (zoom_ * aspect_)};
}

QTransform ViewPort::film_to_screen() const {
  return QTransform(zoom_, 0.0, 0.0, zoom_ * aspect_, shift_.x(), shift_.y());
}

bool ViewPort::on_film_at(QPointF screen) const {
  const Point at = on_film(screen);
  return at.x >= 0.0 && at.y >= 0.0 && at.x <= film_.width() && at.y <= film_.height();
}

void ViewPort::keep_in_sight() {
  const double wide = film_.width() * zoom_, tall = film_.height() * zoom_ * aspect_;
  shift_.setX(std::clamp(shift_.x(), edge_px - wide, std::max(edge_px - wide, widget_.width() - edge_px)));
  shift_.setY(std::clamp(shift_.y(), edge_px - tall, std::max(edge_px - tall, widget_.height() - edge_px)));
}

}  // namespace canalrule::window
