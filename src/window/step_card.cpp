#include "step_card.hpp"

#include <QLabel>
#include <QShortcut>
#include <QStyle>
#include <QToolButton>
#include <QVBoxLayout>

#include "words.hpp"

namespace canalrule::window {

namespace {

/// Told apart by shape: an open ring, a half one, a full one.
QString sign_of(desk::StepState state) {
  switch (state) {
    case desk::StepState::missing: return QStringLiteral("○");
    case desk::StepState::begun: return QStringLiteral("◐");
    case desk::StepState::done: return QStringLiteral("●");
  }
  return {};
}

QString words_of(desk::StepState state) {
  switch (state) {
    case desk::StepState::missing: return StepCard::tr("not yet");
    case desk::StepState::begun: return StepCard::tr("begun");
    case desk::StepState::done: return StepCard::tr("done");
  }
  return {};
}

}  // namespace

StepCard::StepCard(Bench& bench, desk::Step step, int number, const QString& title, QWidget* parent)
    : QFrame(parent), bench_(bench), step_(step), title_(tr("%1  %2").arg(number).arg(title)) {
  setObjectName(QStringLiteral("card"));
  head_ = new QToolButton;
  head_->setToolButtonStyle(Qt::ToolButtonTextOnly);
  head_->setAutoRaise(true);
  const QKeySequence key(Qt::CTRL | static_cast<Qt::Key>(Qt::Key_0 + number));
  head_->setToolTip(tr("Take the pen for this step (%1)").arg(key.toString(QKeySequence::NativeText)));
  connect(new QShortcut(key, this), &QShortcut::activated, this, [this] { bench_.begin(step_); });
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
  QFont bold = head_->font();
  bold.setBold(true);
  head_->setFont(bold);
  state_ = new QLabel;
  state_->setObjectName(QStringLiteral("soft"));
  state_->setWordWrap(true);
  auto* layout = new QVBoxLayout(this);
  layout->setContentsMargins(8, 6, 8, 8);
  layout->setSpacing(4);
  layout->addWidget(head_, 0, Qt::AlignLeft);
  layout->addWidget(state_);
  body_ = new QVBoxLayout;
  body_->setSpacing(4);
  layout->addLayout(body_);
  connect(head_, &QToolButton::clicked, this, [this] { bench_.begin(step_); });
}

void StepCard::follow() {
  connect(&bench_, &Bench::drawing_changed, this, &StepCard::refresh);
  connect(&bench_, &Bench::pen_changed, this, &StepCard::refresh);
  connect(&bench_, &Bench::film_changed, this, &StepCard::refresh);
  connect(&bench_, &Bench::canal_chosen, this, &StepCard::refresh);
  refresh();
}

bool StepCard::has_pen() const {
  using desk::Hand;
  switch (bench_.pen().hand) {
    case Hand::nothing: return false;
    case Hand::scale_points:
    case Hand::scale_from_points: return step_ == desk::Step::scale;
    case Hand::canal_points:
    case Hand::canal_ends: return step_ == desk::Step::canals;
    case Hand::apex:
    case Hand::coronal_reference: return step_ == desk::Step::apex;
  }
  return false;
}

void StepCard::refresh() {
  setEnabled(bench_.has_film());
  desk::StepStatus status{step_, desk::StepState::missing, {}};
  if (bench_.has_film())
    for (const desk::StepStatus& each : desk::steps(bench_.drawing(), bench_.film().spacing))
      if (each.step == step_) status = each;
  head_->setText(sign_of(status.state) + QStringLiteral("  ") + title_);
  head_->setAccessibleName(tr("Step %1: %2").arg(title_, words_of(status.state)));
  const QString words = said(status.text);
  head_->setAccessibleDescription(words);
  state_->setText(words);
  state_->setVisible(!words.isEmpty());
  if (property("active").toBool() != has_pen()) {
    setProperty("active", has_pen());
    style()->unpolish(this);
    style()->polish(this);
  }
  show_drawing();
}

}  // namespace canalrule::window
