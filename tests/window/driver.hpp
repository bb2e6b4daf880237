#pragma once

#include <filesystem>
#include <string>

#include <QAbstractButton>
#include <QSignalSpy>
#include <QTest>

#include <canalrule/record/reading.hpp>
#include <canalrule/window/start.hpp>

#include "film_view.hpp"
#include "main_window.hpp"

/// What the tests of the window share: a window of its own on copies of the sample films, and a hand that clicks,
/// drags and types as a person does.
namespace driver {

namespace fs = std::filesystem;
using canalrule::Point;

inline const fs::path source = CANALRULE_SOURCE_DIR;
inline const fs::path samples = source / "sample-images";

/// Copies sample files into a folder.
void copy_samples(const fs::path& folder, const std::vector<std::string>& names);

struct Desk {
  explicit Desk(const fs::path& folder, canalrule::window::Opening opening = {});
  canalrule::window::MainWindow window;
  canalrule::window::Bench& bench;

  canalrule::window::FilmView& film() const;
  canalrule::window::FilmView& other() const;
  /// A control by its accessible name; fails the test where there is none.
  template <class Widget>
  Widget& control(const QString& name) const {
    for (Widget* widget : window.findChildren<Widget*>())
      if (widget->accessibleName() == name) return *widget;
    qFatal("there is no control named \"%s\"", qPrintable(name));
  }
  QAbstractButton& button(const QString& words) const;

  /// Moves there and clicks, at a place of the film.
  void click(canalrule::window::FilmView& view, Point at, Qt::MouseButton button = Qt::LeftButton) const;
  void click(Point at) const { click(film(), at); }
  void drag(Point from, Point to, Qt::MouseButton button = Qt::LeftButton, int steps = 5) const;
  QPoint place(const canalrule::window::FilmView& view, Point at) const;
  void key(Qt::Key key, Qt::KeyboardModifiers modifiers = Qt::NoModifier) const;
  /// A key of the whole window, wherever the focus is.
  void shortcut(const QKeySequence& keys);
  /// Until the newest drawing has been answered.
  bool measured() const;
};

std::string content(const fs::path& file);

}  // namespace driver
