#pragma once

#include <canalrule/record/result.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

/// Words and tables for a page, as values.
namespace canalrule::report {

/// A piece of a line. The text may come from a file: it is cleaned and escaped where it is written.
struct Phrase {
  enum class Style { plain, strong, soft };
  std::string text;
  Style style = Style::plain;
  /// "#ID" of a section of the same document, or a file relative to it; empty: no link.
  std::string link = {};
  std::optional<Verdict> sign = std::nullopt;  ///< its sign before the text
};

/// A line of text, most often a single piece.
struct Words {
  std::vector<Phrase> phrases;
  Words() = default;
  Words(std::string text) : phrases{{std::move(text)}} {}              // NOLINT: any text is a line of words
  Words(const char* text) : phrases{{text}} {}                         // NOLINT
  Words(Phrase phrase) : phrases{std::move(phrase)} {}                 // NOLINT
  Words(std::vector<Phrase> several) : phrases(std::move(several)) {}  // NOLINT
};

/// A verdict with its sign, in words.
Words verdict_phrase(Verdict verdict);

struct Column {
  enum class Holds { text, figure };  ///< figures are set flush right
  std::string heading;
  Holds holds = Holds::text;
};

/// A table; the first cell of a row heads it. No row is parted by the end of a sheet of paper.
struct Table {
  std::string caption;
  std::vector<Column> columns;           ///< 1 or more
  std::vector<std::vector<Words>> rows;  ///< each as many cells as there are columns
  std::string when_empty = "None.";      ///< said where there is no row
};

}  // namespace canalrule::report
