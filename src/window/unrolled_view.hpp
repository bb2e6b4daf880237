#pragma once

#include <optional>

#include <QPixmap>
#include <QWidget>

#include "bench.hpp"
#include "unrolled_plot.hpp"

namespace canalrule::window {

/// The canal unrolled straight from the apex up, on a scale of millimetres: the film along it on the left, in
/// true proportions; on the right the width about the axis, widened, against the planned cone, with voids, breaks of
/// taper and what can't be assessed. Pointing at a place shows it on the film.
class UnrolledView : public QWidget {
  Q_OBJECT

 public:
  explicit UnrolledView(Bench& bench, QWidget* parent = nullptr);

  /// As the film is shown.
  void set_tone(const desk::Tone& tone);

  QSize sizeHint() const override { return {330, 460}; }
  QSize minimumSizeHint() const override { return {240, 260}; }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void changeEvent(QEvent* event) override;

 private:
  std::optional<UnrolledPlot> plot() const;
  void renew();
  void render(const UnrolledPlot& here);
  void point_at(double at_mm);
  void describe();

  Bench& bench_;
  desk::Tone tone_;
  QPixmap rendered_;  ///< all but the place that is pointed at; null: to be drawn again
};

}  // namespace canalrule::window
