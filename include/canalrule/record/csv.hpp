#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

/// Tables as text: CSV (RFC 4180).
namespace canalrule {

/// One row as it stands, or why it can't be read.
struct CsvRow {
  std::size_t line = 0;  ///< where it begins, the text's first line being 1
  std::vector<std::string> fields;
  std::string problem;
};

/// The rows of a text that are not empty. After a row that can't be read the next line begins anew, so that a
/// stray quote costs one row.
std::vector<CsvRow> csv_rows(std::string_view text, char delimiter);

/// One row, parted by commas and ended by CR LF; a field is quoted where it must be.
std::string csv_row(const std::vector<std::string>& fields);

/// A text that came from outside, made safe for a table that a person may open in a spreadsheet program: one
/// that begins with = + - @, a tab or a line end gets an apostrophe before it, so that it is no formula.
/// A plain decimal number such as -0.5 stays as it is. (Common practice, no source.)
std::string csv_text(std::string_view text);

/// The text that csv_text was given.
std::string text_of_csv(std::string_view field);

}  // namespace canalrule
