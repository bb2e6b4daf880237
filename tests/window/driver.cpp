#include "driver.hpp"

#include <fstream>
#include <sstream>

#include "look.hpp"

namespace driver {

using canalrule::window::FilmView;
using canalrule::window::Opening;

namespace {

Opening with_criteria(Opening opening) {
  if (opening.criteria.empty()) opening.criteria = source / "docs" / "criteria" / "default.json";
  return opening;
}

}  // namespace

void copy_samples(const fs::path& folder, const std::vector<std::string>& names) {
  fs::create_directories(folder);
  for (const std::string& name : names) fs::copy_file(samples / name, folder / name);
}

Desk::Desk(const fs::path& folder, Opening opening)
    : window(with_criteria(std::move(opening)), folder / "spare"), bench(window.bench()) {
  canalrule::window::dress(*qApp);
  window.show();
  window.activateWindow();  // keys of the whole window reach an active one only
  if (!QTest::qWaitForWindowActive(&window)) qFatal("the window does not come up");
}

FilmView& Desk::film() const { return control<FilmView>(FilmView::tr("Film")); }
FilmView& Desk::other() const { return control<FilmView>(FilmView::tr("The film that the scale comes from")); }

QAbstractButton& Desk::button(const QString& words) const {
  for (QAbstractButton* button : window.findChildren<QAbstractButton*>())
    if (button->isVisible() && (button->text() == words || button->accessibleName() == words)) return *button;
  qFatal("there is no button \"%s\"", qPrintable(words));
}

QPoint Desk::place(const FilmView& view, Point at) const { return view.view_port().on_screen(at).toPoint(); }

void Desk::click(FilmView& view, Point at, Qt::MouseButton button) const {
  QTest::mouseMove(&view, place(view, at));
  QTest::mouseClick(&view, button, Qt::NoModifier, place(view, at));
}

void Desk::drag(Point from, Point to, Qt::MouseButton button, int steps) const {
  FilmView& view = film();
  const QPoint start = place(view, from), end = place(view, to);
  QTest::mouseMove(&view, start);
  QTest::mousePress(&view, button, Qt::NoModifier, start);
  for (int i = 1; i <= steps; ++i) {
    const QPointF at = QPointF(start) + QPointF(end - start) * i / steps;
    QMouseEvent move(QEvent::MouseMove, at, view.mapToGlobal(at), Qt::NoButton, button, Qt::NoModifier);
    QApplication::sendEvent(&view, &move);
  }
  QTest::mouseRelease(&view, button, Qt::NoModifier, end);
}

void Desk::key(Qt::Key key, Qt::KeyboardModifiers modifiers) const { QTest::keyClick(&film(), key, modifiers); }

void Desk::shortcut(const QKeySequence& keys) { QTest::keySequence(&window, keys); }

bool Desk::measured() const {
  return QTest::qWaitFor([this] { return !bench.measuring() && !bench.proposing(); }, 30000);
}

std::string content(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

}  // namespace driver
