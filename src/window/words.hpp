#pragma once

#include <string>
#include <string_view>

#include <QString>

#include <canalrule/desk/sentence.hpp>

namespace canalrule::window {

/// The desk's sentence in the language of the window, filled in.
QString said(const desk::Sentence& sentence);

/// A fixed word of the room `report` in the language of the window.
QString reported(const std::string& words);

inline QString qstring(std::string_view utf8) {
  return QString::fromUtf8(utf8.data(), static_cast<qsizetype>(utf8.size()));
}

}  // namespace canalrule::window
