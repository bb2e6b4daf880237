#pragma once

#include <functional>
#include <optional>
#include <string_view>

#include <QLineEdit>

namespace canalrule::window {

/// A line for one number, with decimal point or comma; empty means not known. What is no number stays in the line,
/// is said to be none, and changes nothing.
class NumberEdit : public QLineEdit {
  Q_OBJECT

 public:
  using Parse = std::function<std::optional<double>(std::string_view)>;

  NumberEdit(const QString& name, const QString& unit, Parse parse, int most_decimals, QWidget* parent = nullptr);

  /// Shows a value; leaves a line alone that somebody is typing in.
  void show_value(std::optional<double> value);

 Q_SIGNALS:
  void entered(std::optional<double> value);

 private:
  void take();

  Parse parse_;
  int most_decimals_;
  QString usual_tip_;
  std::optional<double> value_;
};

}  // namespace canalrule::window
