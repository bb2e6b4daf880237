#pragma once

#include <optional>

#include <QWidget>

#include <canalrule/desk/session.hpp>

QT_BEGIN_NAMESPACE
class QLabel;
class QTableWidget;
QT_END_NAMESPACE

namespace canalrule::window {

/// The films of a folder or a case list, and what has been read of them.
class FilmList : public QWidget {
  Q_OBJECT

 public:
  explicit FilmList(QWidget* parent = nullptr);

  void show_session(const std::optional<desk::Session>& session);
  void show_film(const desk::Session& session, std::size_t index);
  void set_current(std::optional<std::size_t> index);

 Q_SIGNALS:
  void chosen(std::size_t index);

 private:
  void show_count(const desk::Session& session);

  QTableWidget* films_;
  QLabel* count_;
};

}  // namespace canalrule::window
