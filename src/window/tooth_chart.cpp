#include "tooth_chart.hpp"

#include <QGridLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QShortcut>

#include <canalrule/desk/teeth.hpp>

#include "words.hpp"

namespace canalrule::window {

ToothChart::ToothChart(QWidget* parent) : QFrame(parent, Qt::Popup) {
  setObjectName(QStringLiteral("card"));
  setAccessibleName(tr("Tooth chart, ISO 3950"));
  auto* grid = new QGridLayout(this);
  grid->setSpacing(2);
  const auto chart = desk::tooth_chart();
  std::size_t widest = 0;
  for (const auto& row : chart) widest = std::max(widest, row.size());
  const int half = static_cast<int>(widest / 2);
  const int side = fontMetrics().horizontalAdvance(QStringLiteral("00")) + 14;
  int line = 0;
  for (const auto& row : chart) {
    if (line == 3) grid->setRowMinimumHeight(line++, 6);
    rows_.emplace_back();
    int column = half - static_cast<int>(row.size() / 2);
    for (const std::string& tooth : row) {
      if (column == half) ++column;  // the midline
      auto* button = new QToolButton;
      button->setText(qstring(tooth));
      button->setAccessibleName(tr("Tooth %1").arg(qstring(tooth)));
      button->setCheckable(true);
      button->setFixedSize(side, side);
      connect(button, &QToolButton::clicked, this, [this, button] { Q_EMIT chosen(button->text()); });
      grid->addWidget(button, line, column++);
      rows_.back().push_back(button);
    }
    ++line;
    if (line == 1) {
      auto* sides = new QLabel(tr("patient's right  |  patient's left"));
      sides->setObjectName(QStringLiteral("soft"));
      sides->setAlignment(Qt::AlignCenter);
      grid->addWidget(sides, line++, 0, 1, 2 * half + 1);
    }
  }
  auto* none = new QToolButton;
  none->setText(tr("Not said"));
  connect(none, &QToolButton::clicked, this, [this] { Q_EMIT chosen(QString()); });
  grid->addWidget(none, line, 0, 1, 2 * half + 1, Qt::AlignCenter);
}

void ToothChart::show_tooth(const QString& tooth) {
  QToolButton* focus = rows_.front().front();
  for (const auto& row : rows_)
    for (QToolButton* button : row) {
      button->setChecked(button->text() == tooth);
      if (button->isChecked()) focus = button;
    }
  focus->setFocus();
}

void ToothChart::keyPressEvent(QKeyEvent* event) {
  const int down = event->key() == Qt::Key_Down ? 1 : event->key() == Qt::Key_Up ? -1 : 0;
  const int right = event->key() == Qt::Key_Right ? 1 : event->key() == Qt::Key_Left ? -1 : 0;
  for (std::size_t i = 0; i < rows_.size() && (down != 0 || right != 0); ++i)
    for (std::size_t j = 0; j < rows_[i].size(); ++j) {
      if (!rows_[i][j]->hasFocus()) continue;
      const auto row = static_cast<std::size_t>(std::clamp<int>(static_cast<int>(i) + down, 0,
                                                                static_cast<int>(rows_.size()) - 1));
      const auto last = static_cast<int>(rows_[row].size()) - 1;
      rows_[row][static_cast<std::size_t>(std::clamp<int>(static_cast<int>(j) + right, 0, last))]->setFocus();
      return;
    }
  if (event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter) {
    for (const auto& row : rows_)
      for (QToolButton* button : row)
        if (button->hasFocus()) return button->click();
  }
  QFrame::keyPressEvent(event);
}

ToothButton::ToothButton(Bench& bench, QWidget* parent)
    : QToolButton(parent), bench_(bench), chart_(new ToothChart(this)) {
  setToolButtonStyle(Qt::ToolButtonTextOnly);
  connect(new QShortcut(QKeySequence(Qt::CTRL | Qt::Key_T), this), &QShortcut::activated, this,
          &ToothButton::open_chart);
  setToolTip(tr("Choose the tooth (Ctrl+T)"));
  connect(this, &QToolButton::clicked, this, &ToothButton::open_chart);
  connect(chart_, &ToothChart::chosen, this, [this](const QString& tooth) {
    chart_->hide();
    bench_.edit(desk::SetTooth{tooth.toStdString()});
  });
  const auto renew = [this] {
    const QString tooth = qstring(bench_.drawing().tooth);
    setText(tooth.isEmpty() ? tr("Tooth: not said") : tr("Tooth %1").arg(tooth));
    setAccessibleName(QToolButton::text());
    setEnabled(bench_.has_film());
  };
  connect(&bench, &Bench::drawing_changed, this, renew);
  connect(&bench, &Bench::film_changed, this, renew);
  renew();
}

void ToothButton::open_chart() {
  chart_->adjustSize();
  chart_->move(mapToGlobal(QPoint(0, height() + 2)));
  chart_->show();
  chart_->show_tooth(qstring(bench_.drawing().tooth));
}

}  // namespace canalrule::window
