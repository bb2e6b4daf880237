#pragma once

#include <optional>

#include <QPixmap>
#include <QWidget>

#include <canalrule/desk/view.hpp>

#include "view_port.hpp"

namespace canalrule::window {

/// A film on a dim ground: toned, zoomed and panned, and nothing else. What is drawn on it and what a press
/// means is for those who derive from it. The film's grey values are only read.
class FilmCanvas : public QWidget {
  Q_OBJECT

 public:
  explicit FilmCanvas(QWidget* parent = nullptr);

  /// A film, shown whole in its automatic tone; the canvas keeps a reference to its pixels. Nothing: empty.
  void show_film(std::optional<Film> film);
  bool has_film() const { return film_.has_value(); }
  const Film& film() const { return *film_; }

  const ViewPort& view_port() const { return view_; }
  const desk::Tone& tone() const { return tone_; }
  void set_tone(const desk::Tone& tone);

  void fit();
  void one_to_one();
  void zoom_in();
  void zoom_out();
  void invert();
  void reveal(Point place);

  QSize sizeHint() const override { return {640, 720}; }
  QSize minimumSizeHint() const override { return {240, 240}; }

 Q_SIGNALS:
  void view_changed();
  void tone_changed();

 protected:
  /// Over the film, in the widget's coordinates: what stays until settled_changed() or another view, and over it
  /// what may change at any time.
  virtual void draw_settled(QPainter& painter) = 0;
  virtual void draw_marks(QPainter& painter) = 0;
  /// What stands where there is no film.
  virtual void draw_empty(QPainter& painter) = 0;
  virtual QPointF zoom_centre() const;

  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;

  void settled_changed();
  void move_view(QPointF by);
  void zoom_by(double factor, QPointF about);

 private:
  void render_film();
  void render_settled();
  void view_moved();

  std::optional<Film> film_;
  desk::Tone tone_;
  ViewPort view_;
  bool fitted_ = true;      ///< stays whole when the widget changes its size
  QImage whole_, half_;     ///< toned; half its size, for views smaller than that
  QPixmap rendered_;        ///< as it lies in the widget
  QPixmap settled_;         ///< with what is drawn on it and stays; null: to be drawn again
  bool stale_ = true;
};

}  // namespace canalrule::window
