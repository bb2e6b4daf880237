#include <canalrule/window/start.hpp>

#include <cstdio>
#include <cstdlib>
#include <memory>

#include <QApplication>
#include <QMessageLogger>
#include <QStandardPaths>

#include "look.hpp"
#include "main_window.hpp"

#if defined(_WIN32)
#define CANALRULE_EXPORT __declspec(dllexport)
#else
#define CANALRULE_EXPORT __attribute__((visibility("default")))
#endif

namespace {

/// Without a display the toolkit would stop the whole process: told beforehand where the platform tells.
bool display_is_there() {
#if defined(__linux__)
  for (const char* variable : {"QT_QPA_PLATFORM", "WAYLAND_DISPLAY", "DISPLAY"}) {
    const char* value = std::getenv(variable);
    if (value != nullptr && *value != '\0') return true;
  }
  return false;
#else
  return true;
#endif
}

}  // namespace

extern "C" CANALRULE_EXPORT canalrule::window::Ending canalrule_window_start(
    const canalrule::window::Opening& opening) {
  using namespace canalrule::window;
  if (!display_is_there()) return Ending::no_display;
  static char name[] = "canalrule";
  static char* words[] = {name, nullptr};
  static int count = 1;
  QApplication application(count, words);
  QApplication::setApplicationName(QStringLiteral("canalrule"));
  dress(application);
  const std::filesystem::path spare =
      QStandardPaths::writableLocation(QStandardPaths::AppDataLocation).toStdString();
  MainWindow window(opening, spare / "unfinished");
  window.show();
  if (opening.what) window.open(*opening.what);
  QApplication::exec();
  return Ending::closed;
}
