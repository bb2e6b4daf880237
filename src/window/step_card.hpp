#pragma once

#include <QFrame>

#include "bench.hpp"

QT_BEGIN_NAMESPACE
class QLabel;
class QToolButton;
class QVBoxLayout;
QT_END_NAMESPACE

namespace canalrule::window {

/// One of the three steps: its number, whether it is done, what has been done or is missing, and what belongs to
/// it. Pressing its head takes the pen for it.
class StepCard : public QFrame {
  Q_OBJECT

 public:
  StepCard(Bench& bench, desk::Step step, int number, const QString& title, QWidget* parent = nullptr);

 protected:
  QVBoxLayout* body() const { return body_; }
  Bench& bench() const { return bench_; }
  /// Shows the drawing as it is now; called at each change.
  virtual void show_drawing() = 0;
  /// Connects the card to the bench; called at the end of each constructor that derives from this one.
  void follow();

 private:
  void refresh();
  bool has_pen() const;

  Bench& bench_;
  desk::Step step_;
  QString title_;
  QToolButton* head_;
  QLabel* state_;
  QVBoxLayout* body_;
};

}  // namespace canalrule::window
