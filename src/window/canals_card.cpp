#include "canals_card.hpp"

#include <QComboBox>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QRadioButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QVBoxLayout>

#include <canalrule/desk/entry.hpp>
#include <canalrule/desk/teeth.hpp>

#include "number_edit.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

using desk::Hand;

constexpr int rows_shown = 3;  // of the list of canals, before it scrolls

/// A plan in which nothing is known is none.
std::optional<Planned> plan_of(const Planned& plan) {
  const bool any = plan.tip_diameter_mm || plan.taper || plan.working_length_mm || plan.backfill_from_mm;
  return any ? std::optional(plan) : std::nullopt;
}

}  // namespace

CanalsCard::CanalsCard(Bench& bench, QWidget* parent)
    : StepCard(bench, desk::Step::canals, 2, tr("Canals"), parent) {
  by_ends_ = new QRadioButton(tr("Ends only, line proposed"));
  by_ends_->setToolTip(tr("Click orifice and apex; the program proposes the line along the fill"));
  by_points_ = new QRadioButton(tr("Click along it"));
  by_ends_->setChecked(this->bench().line_by() == LineBy::ends);
  by_points_->setChecked(!by_ends_->isChecked());
  connect(by_ends_, &QRadioButton::toggled, this,
          [this](bool ends) { this->bench().set_line_by(ends ? LineBy::ends : LineBy::points); });

  canals_ = new QListWidget;
  canals_->setAccessibleName(tr("Canals of this tooth"));
  canals_->setUniformItemSizes(true);
  canals_->setFixedHeight(rows_shown * (fontMetrics().height() + 6) + 4);
  auto* add = new QPushButton(tr("Add"));
  add->setAccessibleName(tr("Add a canal"));
  remove_ = new QPushButton(tr("Remove"));
  remove_->setAccessibleName(tr("Remove this canal"));
  go_on_ = new QPushButton(tr("Draw on"));
  go_on_->setAccessibleName(tr("Draw on this canal's line"));
  accept_ = new QPushButton(tr("Accept line"));
  accept_->setToolTip(tr("Take the proposed line as it is (Ctrl+Return)"));
  connect(new QShortcut(QKeySequence(Qt::CTRL | Qt::Key_Return), this), &QShortcut::activated, &this->bench(),
          &Bench::accept_line);
  propose_ = new QPushButton(tr("Propose line"));
  propose_->setToolTip(tr("Propose a line along the fill from this canal's orifice to its apex"));
  name_ = new QComboBox;
  name_->setEditable(true);
  name_->setInsertPolicy(QComboBox::NoInsert);
  name_->setAccessibleName(tr("Name of the canal"));
  meaning_ = new QLabel;
  meaning_->setObjectName(QStringLiteral("soft"));

  auto* hands = new QHBoxLayout;
  hands->addWidget(by_ends_);
  hands->addWidget(by_points_);
  hands->addStretch();
  body()->addLayout(hands);
  auto* list = new QHBoxLayout;
  list->addWidget(canals_, 1);
  list->addWidget(add, 0, Qt::AlignTop);
  body()->addLayout(list);
  details_ = new QWidget;
  auto* details = new QVBoxLayout(details_);
  details->setContentsMargins(0, 0, 0, 0);
  details->setSpacing(4);
  auto* named = new QHBoxLayout;
  named->addWidget(new QLabel(tr("Name")));
  named->addWidget(name_);
  named->addWidget(meaning_, 1);
  details->addLayout(named);
  auto* buttons = new QHBoxLayout;
  buttons->setSpacing(4);
  for (QPushButton* button : {accept_, propose_, go_on_, remove_}) buttons->addWidget(button);
  buttons->addStretch();
  details->addLayout(buttons);
  details->addLayout(plan_fields());
  body()->addWidget(details_);

  connect(add, &QPushButton::clicked, this, [this] {
    const desk::Drawing& drawing = this->bench().drawing();
    std::vector<std::string> names;
    for (const desk::CanalDrawn& each : drawing.canals) names.push_back(each.name);
    const std::size_t index = drawing.canals.size();
    this->bench().edit(desk::add_canal(drawing, desk::free_canal_name(drawing.tooth, names)));
    this->bench().draw_line(index);
  });
  connect(canals_, &QListWidget::currentRowChanged, this, [this](int row) {
    if (row >= 0) this->bench().choose_canal(static_cast<std::size_t>(row));
  });
  connect(name_->lineEdit(), &QLineEdit::editingFinished, this, [this] { rename(name_->currentText()); });
  connect(name_, &QComboBox::activated, this, [this] { rename(name_->currentData().toString()); });
  connect(accept_, &QPushButton::clicked, &this->bench(), &Bench::accept_line);
  connect(propose_, &QPushButton::clicked, this, [this] { this->bench().propose(this->bench().current_canal()); });
  connect(go_on_, &QPushButton::clicked, this, [this] { this->bench().draw_line(this->bench().current_canal()); });
  connect(remove_, &QPushButton::clicked, this, [this] {
    this->bench().edit(desk::RemoveCanal{this->bench().current_canal()});
    this->bench().take_pen({});
  });
  follow();
}

QLayout* CanalsCard::plan_fields() {
  tip_ = new NumberEdit(tr("Planned tip diameter"), tr("mm"), desk::entered_mm, 3);
  taper_ = new NumberEdit(tr("Planned taper"), tr("0.06, 6 %"), desk::entered_taper, 4);
  working_length_ = new NumberEdit(tr("Working length"), tr("mm"), desk::entered_mm, 2);
  backfill_ = new NumberEdit(tr("Backfill from, measured from the apex"), tr("mm"), desk::entered_mm, 2);
  connect(tip_, &NumberEdit::entered, this,
          [this](std::optional<double> value) { change_plan(&Planned::tip_diameter_mm, value); });
  connect(taper_, &NumberEdit::entered, this,
          [this](std::optional<double> value) { change_plan(&Planned::taper, value); });
  connect(working_length_, &NumberEdit::entered, this,
          [this](std::optional<double> value) { change_plan(&Planned::working_length_mm, value); });
  connect(backfill_, &NumberEdit::entered, this,
          [this](std::optional<double> value) { change_plan(&Planned::backfill_from_mm, value); });
  auto* grid = new QGridLayout;
  grid->setVerticalSpacing(3);
  auto* title = new QLabel(tr("Planned, as far as known"));
  title->setObjectName(QStringLiteral("soft"));
  grid->addWidget(title, 0, 0, 1, 4);
  const auto field = [grid](int row, int column, const QString& words, NumberEdit* edit) {
    auto* label = new QLabel(words);
    label->setBuddy(edit);
    grid->addWidget(label, row, column);
    grid->addWidget(edit, row, column + 1);
  };
  field(1, 0, tr("Tip"), tip_);
  field(1, 2, tr("Taper"), taper_);
  field(2, 0, tr("Length"), working_length_);
  field(2, 2, tr("Backfill"), backfill_);
  grid->setColumnStretch(4, 1);
  return grid;
}

const desk::CanalDrawn* CanalsCard::canal() const {
  const auto& canals = bench().drawing().canals;
  return bench().current_canal() < canals.size() ? &canals[bench().current_canal()] : nullptr;
}

void CanalsCard::rename(const QString& name) {
  const std::string wanted = name.trimmed().toStdString();
  if (canal() != nullptr && !wanted.empty() && wanted != canal()->name)
    bench().edit(desk::rename_canal(bench().drawing(), bench().current_canal(), wanted));
}

void CanalsCard::change_plan(std::optional<double> Planned::* field, std::optional<double> value) {
  if (canal() == nullptr) return;
  Planned plan = canal()->planned.value_or(Planned{});
  plan.*field = value;
  bench().edit(desk::set_planned(bench().drawing(), bench().current_canal(), plan_of(plan)));
}

QString CanalsCard::line_of(const desk::CanalDrawn& each) const {
  const QString line = each.path.size() < 2                          ? tr("no line yet")
                       : each.line == LineSource::proposed ? tr("line proposed")
                                                                     : tr("line drawn");
  return tr("%1:  %2, %3").arg(qstring(each.name), line, each.apex ? tr("apex set") : tr("no apex yet"));
}

void CanalsCard::show_drawing() {
  const auto& canals = bench().drawing().canals;
  {
    const QSignalBlocker blocked(canals_);
    while (canals_->count() > static_cast<int>(canals.size())) delete canals_->takeItem(canals_->count() - 1);
    while (canals_->count() < static_cast<int>(canals.size())) canals_->addItem(QString());
    for (std::size_t i = 0; i < canals.size(); ++i)
      canals_->item(static_cast<int>(i))->setText(line_of(canals[i]));
    canals_->setCurrentRow(canals.empty() ? -1 : static_cast<int>(bench().current_canal()));
  }
  const desk::CanalDrawn* current = canal();
  details_->setVisible(current != nullptr);
  if (current == nullptr) return;
  const bool proposed = current->line == LineSource::proposed;
  accept_->setVisible(proposed);
  propose_->setVisible(!proposed && current->path.size() >= 2 && current->apex);
  propose_->setEnabled(!bench().proposing());
  const QString tooth = qstring(bench().drawing().tooth);
  if (name_->property("tooth").toString() != tooth || name_->count() == 0) {
    const QSignalBlocker blocked(name_);
    name_->clear();
    for (const std::string& each : desk::canal_names(bench().drawing().tooth)) {
      const std::string meaning = desk::meaning_of(each);
      const QString name = qstring(each);
      name_->addItem(meaning.empty() ? name : tr("%1  (%2)").arg(name, reported(meaning)), name);
    }
    name_->setProperty("tooth", tooth);
  }
  if (!name_->lineEdit()->isModified() || !name_->lineEdit()->hasFocus()) name_->setEditText(qstring(current->name));
  meaning_->setText(reported(desk::meaning_of(current->name)));
  const Planned plan = current->planned.value_or(Planned{});
  tip_->show_value(plan.tip_diameter_mm);
  taper_->show_value(plan.taper);
  working_length_->show_value(plan.working_length_mm);
  backfill_->show_value(plan.backfill_from_mm);
}

ApexCard::ApexCard(Bench& bench, QWidget* parent) : StepCard(bench, desk::Step::apex, 3, tr("Apex"), parent) {
  apex_ = new QPushButton(tr("Mark apex"));
  reference_ = new QPushButton(tr("Coronal reference"));
  reference_->setToolTip(tr("Mark where the working length was measured from: a cusp tip, an incisal edge"));
  uncertainty_ = new NumberEdit(tr("Standard uncertainty of the apex mark along the canal"), tr("± mm"),
                                desk::entered_mm, 3);
  details_ = new QWidget;
  auto* grid = new QGridLayout(details_);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setVerticalSpacing(4);
  auto* sure = new QHBoxLayout;
  sure->addWidget(new QLabel(tr("Known to ±")));
  sure->addWidget(uncertainty_);
  sure->addStretch();
  grid->addWidget(apex_, 0, 0);
  grid->addWidget(reference_, 0, 1);
  grid->addLayout(sure, 1, 0, 1, 2);
  grid->setColumnStretch(2, 1);
  body()->addWidget(details_);
  connect(apex_, &QPushButton::clicked, this, [this] {
    this->bench().take_pen({Hand::apex, this->bench().current_canal()});
  });
  connect(reference_, &QPushButton::clicked, this, [this] {
    this->bench().take_pen({Hand::coronal_reference, this->bench().current_canal()});
  });
  connect(uncertainty_, &NumberEdit::entered, this, [this](std::optional<double> value) {
    const std::size_t index = this->bench().current_canal();
    if (index >= this->bench().drawing().canals.size()) return;
    desk::CanalDrawn canal = this->bench().drawing().canals[index];
    canal.apex_uncertainty_mm = value;
    this->bench().edit(desk::ReplaceCanal{index, canal});
  });
  follow();
}

void ApexCard::show_drawing() {
  const auto& canals = bench().drawing().canals;
  const std::size_t index = bench().current_canal();
  details_->setVisible(index < canals.size());
  if (index >= canals.size()) return;
  const QString name = qstring(canals[index].name);
  apex_->setText(canals.size() > 1 ? tr("Mark apex of %1").arg(name) : tr("Mark apex"));
  uncertainty_->show_value(canals[index].apex_uncertainty_mm);
}

}  // namespace canalrule::window
