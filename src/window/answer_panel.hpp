#pragma once

#include <QWidget>

#include "bench.hpp"

QT_BEGIN_NAMESPACE
class QLabel;
class QTabBar;
class QTextBrowser;
QT_END_NAMESPACE

namespace canalrule::window {

class UnrolledView;

/// The answer beside the film: each canal unrolled, its figures, the verdict per criterion with its uncertainty, every
/// warning. What isn't known yet is empty, and what is missing for it is said.
class AnswerPanel : public QWidget {
  Q_OBJECT

 public:
  explicit AnswerPanel(Bench& bench, QWidget* parent = nullptr);

  UnrolledView& unrolled() { return *unrolled_; }
  /// The answer of the canal that is shown, as plain text.

 private:
  void renew();
  void renew_tabs();
  QString answer_html() const;
  QString missing_html() const;

  Bench& bench_;
  QTabBar* canals_;
  UnrolledView* unrolled_;
  QTextBrowser* words_;
  QLabel* state_;
};

}  // namespace canalrule::window
