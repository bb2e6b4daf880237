#pragma once

#include "step_card.hpp"

QT_BEGIN_NAMESPACE
class QComboBox;
class QLabel;
class QListWidget;
class QPushButton;
class QRadioButton;
QT_END_NAMESPACE

namespace canalrule::window {

class NumberEdit;

/// Step 2: the canals of the tooth, their names, lines and plans.
class CanalsCard : public StepCard {
  Q_OBJECT

 public:
  explicit CanalsCard(Bench& bench, QWidget* parent = nullptr);

 protected:
  void show_drawing() override;

 private:
  QLayout* plan_fields();
  const desk::CanalDrawn* canal() const;
  void rename(const QString& name);
  void change_plan(std::optional<double> Planned::* field, std::optional<double> value);
  QString line_of(const desk::CanalDrawn& canal) const;

  QListWidget* canals_;
  QComboBox* name_;
  QRadioButton *by_ends_, *by_points_;
  QPushButton *accept_, *propose_, *remove_, *go_on_;
  QWidget* details_;
  QLabel* meaning_;
  NumberEdit *tip_, *taper_, *working_length_, *backfill_;
};

/// Step 3: the apex of each canal, and where its working length was measured from.
class ApexCard : public StepCard {
  Q_OBJECT

 public:
  explicit ApexCard(Bench& bench, QWidget* parent = nullptr);

 protected:
  void show_drawing() override;

 private:
  QPushButton *apex_, *reference_;
  NumberEdit* uncertainty_;
  QWidget* details_;
};

}  // namespace canalrule::window
