#pragma once

#include <QPointF>
#include <QSize>
#include <QTransform>

#include <canalrule/base/point.hpp>

namespace canalrule::window {

/// Where the film lies in a widget: a zoom and a shift. Screen places are in the widget's logical pixels.
class ViewPort {
 public:
  /// A film of so many pixels; rows are `row_to_column_aspect` as high as columns are wide.
  void set_film(QSize film, double row_to_column_aspect);
  void set_widget(QSize widget) { widget_ = widget; }

  void fit();
  /// One film pixel on one pixel of the screen, about the middle.
  void one_to_one(double device_pixel_ratio);
  /// `factor` larger, the film's place under `about` staying there.
  void zoom(double factor, QPointF about);
  void pan(QPointF by);
  /// Moves the film just so far that the place is in sight.
  void reveal(Point place);
  /// Puts the place in the middle.
  void centre_on(Point place);

  double zoom() const { return zoom_; }  ///< screen pixels per film column
  QPointF on_screen(Point place) const;
  Point on_film(QPointF screen) const;
  QTransform film_to_screen() const;
  bool on_film_at(QPointF screen) const;
  QSize film() const { return film_; }

 private:
  void keep_in_sight();

  QSize film_{1, 1};
  QSize widget_{1, 1};
  double aspect_ = 1.0;
  double zoom_ = 1.0;
  QPointF shift_;
};

}  // namespace canalrule::window
