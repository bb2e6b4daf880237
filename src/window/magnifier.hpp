#pragma once

#include <optional>

#include <QWidget>

#include <canalrule/desk/view.hpp>

namespace canalrule::window {

/// The pixels under the pointer, large and not smoothed, with a cross at the very place, and what stands there.
class Magnifier : public QWidget {
  Q_OBJECT

 public:
  explicit Magnifier(QWidget* parent = nullptr);

  /// The film must outlive the call only: what is shown is copied.
  void look_at(const Film& film, const desk::Tone& tone, Point at);
  void look_away();

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  QImage pixels_;
  Point at_;
  QRect region_;  ///< the pixels that are shown
  QString place_;
};

}  // namespace canalrule::window
