#include "number_edit.hpp"

#include <canalrule/desk/entry.hpp>

#include "words.hpp"

namespace canalrule::window {

NumberEdit::NumberEdit(const QString& name, const QString& unit, Parse parse, int most_decimals, QWidget* parent)
    : QLineEdit(parent), parse_(std::move(parse)), most_decimals_(most_decimals) {
  setAccessibleName(name);
  setPlaceholderText(unit);
  usual_tip_ = tr("%1 (%2); decimal point or comma").arg(name, unit);
  setToolTip(usual_tip_);
  setMaximumWidth(fontMetrics().horizontalAdvance(QStringLiteral("0000.000")) + 16);
  connect(this, &QLineEdit::editingFinished, this, &NumberEdit::take);
}

void NumberEdit::show_value(std::optional<double> value) {
  if (hasFocus() && isModified()) return;
  value_ = value;
  setText(value ? qstring(desk::shown_number(*value, most_decimals_)) : QString());
}

void NumberEdit::take() {
  const QString typed = QLineEdit::text().trimmed();
  const std::optional<double> value = typed.isEmpty() ? std::nullopt : parse_(typed.toStdString());
  const bool none = !typed.isEmpty() && !value;
  setStyleSheet(none ? QStringLiteral("border: 2px dashed #ff9e54;") : QString());
  setToolTip(none ? tr("\"%1\" is no such number; nothing was changed").arg(typed) : usual_tip_);
  setAccessibleDescription(none ? toolTip() : QString());
  setModified(false);
  if (none || value == value_) return;
  value_ = value;
  Q_EMIT entered(value);
}

}  // namespace canalrule::window
