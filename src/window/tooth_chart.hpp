#pragma once

#include <QFrame>
#include <QToolButton>

#include "bench.hpp"

namespace canalrule::window {

/// The teeth by ISO 3950 as they are seen facing the patient, to click or to go to by the arrow keys.
class ToothChart : public QFrame {
  Q_OBJECT

 public:
  explicit ToothChart(QWidget* parent = nullptr);
  void show_tooth(const QString& tooth);

 Q_SIGNALS:
  void chosen(const QString& tooth);

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  std::vector<std::vector<QToolButton*>> rows_;
};

/// The button that says which tooth is read and opens the chart.
class ToothButton : public QToolButton {
  Q_OBJECT

 public:
  explicit ToothButton(Bench& bench, QWidget* parent = nullptr);

 private:
  void open_chart();
  Bench& bench_;
  ToothChart* chart_;
};

}  // namespace canalrule::window
