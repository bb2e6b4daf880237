#pragma once

#include "step_card.hpp"

QT_BEGIN_NAMESPACE
class QComboBox;
class QPushButton;
class QLabel;
QT_END_NAMESPACE

namespace canalrule::window {

class NumberEdit;

/// Step 1: what gives the scale. One mark is worked at, several can stand side by side.
class ScaleCard : public StepCard {
  Q_OBJECT

 public:
  explicit ScaleCard(Bench& bench, QWidget* parent = nullptr);

 Q_SIGNALS:
  /// The film that the scale is to be carried over from has to be named.
  void other_film_wanted(std::size_t mark);

 protected:
  void show_drawing() override;

 private:
  void add_mark(desk::ScaleDrawn::Kind kind);
  void take_length(const QString& typed);

  desk::Hand hand_ = desk::Hand::nothing;  ///< the pen's at the last look
  std::size_t mark_ = 0;  ///< the one that is worked at
  QComboBox* marks_;
  QComboBox* length_;
  NumberEdit* width_;
  NumberEdit* uncertainty_;
  QLabel *size_label_, *uncertainty_label_, *from_;
  QPushButton *remove_, *choose_film_, *go_on_, *film_spacing_;
};

}  // namespace canalrule::window
