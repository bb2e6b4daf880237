#include "words.hpp"

#include <QCoreApplication>

namespace canalrule::window {

QString said(const desk::Sentence& sentence) {
  const QString translated = QCoreApplication::translate("desk", sentence.text.c_str());
  return qstring(desk::plain({translated.toStdString(), sentence.arguments}));
}

QString reported(const std::string& words) { return QCoreApplication::translate("report", words.c_str()); }

}  // namespace canalrule::window
