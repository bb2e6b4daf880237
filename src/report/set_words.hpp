#pragma once

#include <canalrule/report/scene.hpp>
#include <canalrule/report/table.hpp>
#include <vector>

#include "look.hpp"

/// Lines of words in several styles, for paper.
namespace canalrule::report {

/// Words broken into lines, each a list of pieces in one style.
struct SetLines {
  struct Piece {
    double x = 0.0;  ///< from the line's left end
    Phrase phrase;   ///< its text cleaned; a sign alone has none
    double width = 0.0;
  };
  std::vector<std::vector<Piece>> lines;  ///< 1 or more
  double size = 9.0;
  double widest = 0.0;  ///< of the lines
  double height() const { return line_height(size) * static_cast<double>(lines.size()); }
};

/// Breaks at spaces into lines of at most `width` points; a longer word is broken inside. `whole` is the
/// style of what has none of its own.
SetLines set_words(const Words& words, double size, double width, Weight whole = Weight::normal);

/// How wide the words are on one line, and their longest word.
struct Extent {
  double line = 0.0, word = 0.0;
};
Extent extent_of(const Words& words, double size, Weight whole = Weight::normal);

/// Draws line `index` with its baseline at `base`; flush left at `left`, or flush right at `left + width`.
void draw_line(std::vector<Item>& items, const SetLines& set, std::size_t index, double left, double base,
               Column::Holds holds, double width, Weight whole = Weight::normal);

}  // namespace canalrule::report
