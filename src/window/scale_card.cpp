#include "scale_card.hpp"

#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QMenu>
#include <QPushButton>
#include <QSignalBlocker>
#include <QVBoxLayout>

#include <canalrule/desk/entry.hpp>

#include "number_edit.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

using Kind = desk::ScaleDrawn::Kind;

QString kind_words(Kind kind) {
  switch (kind) {
    case Kind::known_length: return ScaleCard::tr("Known length");
    case Kind::known_width: return ScaleCard::tr("Known width");
    case Kind::carried: return ScaleCard::tr("Carried over");
  }
  return {};
}

}  // namespace

ScaleCard::ScaleCard(Bench& bench, QWidget* parent)
    : StepCard(bench, desk::Step::scale, 1, tr("Scale"), parent) {
  auto* add = new QPushButton(tr("Add"));
  add->setAccessibleName(tr("Add a scale mark"));
  auto* kinds = new QMenu(add);
  kinds->addAction(tr("Known length: a file from stop to tip"), this, [this] { add_mark(Kind::known_length); });
  kinds->addAction(tr("Known width: across a shank or plugger"), this, [this] { add_mark(Kind::known_width); });
  kinds->addAction(tr("Carried over from the film that shows the file"), this, [this] { add_mark(Kind::carried); });
  add->setMenu(kinds);
  marks_ = new QComboBox;
  marks_->setAccessibleName(tr("Scale mark"));
  remove_ = new QPushButton(tr("Remove"));
  remove_->setAccessibleName(tr("Remove this scale mark"));

  length_ = new QComboBox;
  length_->setEditable(true);
  length_->setInsertPolicy(QComboBox::NoInsert);
  // Usual lengths of files from tip to handle (ISO 3630-1, from memory).
  length_->addItems({QStringLiteral("21"), QStringLiteral("25"), QStringLiteral("31")});
  length_->setCurrentIndex(-1);
  length_->lineEdit()->setPlaceholderText(tr("mm"));
  length_->setAccessibleName(tr("Known length in mm"));
  length_->setToolTip(tr("Length from end to end in mm; any value; decimal point or comma"));
  length_->setFixedWidth(fontMetrics().horizontalAdvance(QStringLiteral("000.000")) + 48);
  width_ = new NumberEdit(tr("Known width"), tr("mm"), desk::entered_mm, 3);
  uncertainty_ = new NumberEdit(tr("Its standard uncertainty"), tr("± mm"), desk::entered_mm, 3);
  size_label_ = new QLabel;
  uncertainty_label_ = new QLabel(tr("±"));
  from_ = new QLabel;
  from_->setWordWrap(true);
  choose_film_ = new QPushButton(tr("Other film…"));
  choose_film_->setAccessibleName(tr("Choose the film that the scale is carried over from"));
  go_on_ = new QPushButton(tr("Draw on"));
  go_on_->setAccessibleName(tr("Draw on this scale mark"));
  film_spacing_ = new QPushButton(tr("Use the film's own spacing"));

  auto* grid = new QGridLayout;
  grid->setVerticalSpacing(4);
  grid->addWidget(marks_, 0, 0, 1, 2);
  grid->addWidget(add, 0, 2);
  grid->addWidget(size_label_, 1, 0);
  auto* sizes = new QHBoxLayout;
  sizes->addWidget(length_);
  sizes->addWidget(width_);
  sizes->addWidget(uncertainty_label_);
  sizes->addWidget(uncertainty_);
  sizes->addStretch();
  grid->addLayout(sizes, 1, 1, 1, 2);
  grid->addWidget(from_, 2, 0, 1, 3);
  auto* buttons = new QHBoxLayout;
  for (QPushButton* button : {go_on_, choose_film_, remove_}) buttons->addWidget(button);
  buttons->addStretch();
  grid->addLayout(buttons, 3, 0, 1, 3);
  grid->addWidget(film_spacing_, 4, 0, 1, 3);
  grid->setColumnStretch(1, 1);
  body()->addLayout(grid);

  connect(marks_, &QComboBox::activated, this, [this](int index) {
    mark_ = static_cast<std::size_t>(index);
    show_drawing();
  });
  connect(remove_, &QPushButton::clicked, this,
          [this] { this->bench().edit(desk::remove_scale(this->bench().drawing(), mark_)); });
  connect(length_->lineEdit(), &QLineEdit::editingFinished, this, [this] { take_length(length_->currentText()); });
  connect(length_, &QComboBox::textActivated, this, &ScaleCard::take_length);
  connect(width_, &NumberEdit::entered, this, [this](std::optional<double> value) {
    const desk::Drawing& drawing = this->bench().drawing();
    if (mark_ < drawing.scale.size())
      this->bench().edit(desk::set_scale_size(drawing, mark_, value, drawing.scale[mark_].uncertainty_mm));
  });
  connect(uncertainty_, &NumberEdit::entered, this, [this](std::optional<double> value) {
    const desk::Drawing& drawing = this->bench().drawing();
    if (mark_ < drawing.scale.size())
      this->bench().edit(desk::set_scale_size(drawing, mark_, drawing.scale[mark_].size_mm, value));
  });
  connect(choose_film_, &QPushButton::clicked, this, [this] { Q_EMIT other_film_wanted(mark_); });
  connect(go_on_, &QPushButton::clicked, this, [this] {
    this->bench().take_pen({desk::Hand::scale_points, mark_});
  });
  connect(film_spacing_, &QPushButton::clicked, this, [this] {
    this->bench().edit(desk::use_film_spacing());
    this->bench().take_pen({});
  });
  follow();
}

void ScaleCard::add_mark(Kind kind) {
  if (!bench().has_film()) return;
  mark_ = bench().drawing().scale.size();
  bench().edit(desk::add_scale(bench().drawing(), kind));
  bench().take_pen({desk::Hand::scale_points, mark_});
  if (kind == Kind::carried) Q_EMIT other_film_wanted(mark_);
}

void ScaleCard::take_length(const QString& typed) {
  const auto& scale = bench().drawing().scale;
  if (mark_ >= scale.size()) return;
  const QString trimmed = typed.trimmed();
  const std::optional<double> value =
      trimmed.isEmpty() ? std::nullopt : desk::entered_mm(trimmed.toStdString());
  const bool none = !trimmed.isEmpty() && !value;
  length_->setStyleSheet(none ? QStringLiteral("border: 2px dashed #ff9e54;") : QString());
  length_->lineEdit()->setToolTip(none ? tr("\"%1\" is no length in mm; nothing was changed").arg(trimmed)
                                       : length_->toolTip());
  if (none || value == scale[mark_].size_mm) return;
  bench().edit(desk::set_scale_size(bench().drawing(), mark_, value, scale[mark_].uncertainty_mm));
}

void ScaleCard::show_drawing() {
  const auto& scale = bench().drawing().scale;
  const desk::Pen& pen = bench().pen();
  if (pen.hand == desk::Hand::scale_points || pen.hand == desk::Hand::scale_from_points) mark_ = pen.item;
  if (mark_ >= scale.size()) mark_ = scale.empty() ? 0 : scale.size() - 1;
  const QSignalBlocker blocked(marks_);
  marks_->clear();
  for (std::size_t i = 0; i < scale.size(); ++i)
    marks_->addItem(tr("%1: %2").arg(i + 1).arg(kind_words(scale[i].kind)));
  marks_->setCurrentIndex(scale.empty() ? -1 : static_cast<int>(mark_));
  marks_->setEnabled(!scale.empty());
  const desk::ScaleDrawn* mark = scale.empty() ? nullptr : &scale[mark_];
  const bool length = mark != nullptr && mark->kind == Kind::known_length;
  const bool width = mark != nullptr && mark->kind == Kind::known_width;
  const bool carried = mark != nullptr && mark->kind == Kind::carried;
  size_label_->setText(length ? tr("Length") : tr("Width"));
  size_label_->setVisible(length || width);
  length_->setVisible(length);
  width_->setVisible(width);
  uncertainty_label_->setVisible(length || width);
  uncertainty_->setVisible(length || width);
  from_->setVisible(carried);
  choose_film_->setVisible(carried);
  remove_->setVisible(mark != nullptr);
  go_on_->setVisible(mark != nullptr);
  film_spacing_->setVisible(bench().has_film() && bench().film().spacing.has_value() && !scale.empty());
  if (mark == nullptr) return;
  if (length && !length_->lineEdit()->isModified())
    length_->setEditText(mark->size_mm ? qstring(desk::shown_number(*mark->size_mm, 3)) : QString());
  if (width) width_->show_value(mark->size_mm);
  uncertainty_->show_value(mark->uncertainty_mm);
  // The line is finished and only its length is missing: that is typed next.
  const bool put_down = hand_ == desk::Hand::scale_points && pen.hand == desk::Hand::nothing;
  hand_ = pen.hand;
  if (put_down && mark->points.size() > 1 && !mark->size_mm && !carried) {
    QWidget* size = length ? static_cast<QWidget*>(length_) : width_;
    size->setFocus(Qt::OtherFocusReason);
  }
  const std::string other = std::filesystem::path(mark->from_reading).filename().string();
  from_->setText(other.empty() ? tr("Other film: none chosen yet") : tr("Other film: %1").arg(qstring(other)));
}

}  // namespace canalrule::window
