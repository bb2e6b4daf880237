#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// A list of cases, one row a case: CSV (RFC 4180) or a folder of readings.
namespace canalrule {

struct CaseListRow {
  std::size_t line = 0;  ///< where the row begins in the file, its first line being 1
  std::vector<std::string>
      values;  ///< one for each of CaseList::columns; those missing in the file are empty
  /// Why this row can't be used, in words that follow "line 17: "; empty where it can. The other rows stand.
  std::string problem;
};

/// What the caller asks of a list beside the columns `case` and `reading`.
struct CaseListNeeds {
  std::vector<std::string> further_columns;  ///< that must be there; their values may be empty
  /// A list that cases are only drawn from may have no reading yet.
  enum class Readings { needed, may_be_missing };
  Readings readings = Readings::needed;
};

struct CaseList {
  enum class Source { table, folder };
  Source source = Source::table;
  std::string file;                  ///< as refusals name it
  std::filesystem::path folder;      ///< what relative paths in the list are relative to
  std::string sha256;                ///< of the list's bytes; of a folder, of its readings' names
  std::vector<std::string> columns;  ///< as the header names them, in its order
  std::vector<CaseListRow> rows;     ///< 1 or more, in the list's order

  /// Where a column stands; names are compared without regard to upper and lower case (A to Z).
  std::optional<std::size_t> find_column(std::string_view name) const;
  /// A row's value in a column; empty where the list has no such column.
  const std::string& value(const CaseListRow& row, std::string_view column) const;
  /// The row's reading as a path that can be opened.
  std::filesystem::path reading_of(const CaseListRow& row) const;
};

/// Reads a list: UTF-8 with or without byte order mark, fields parted by commas or by semicolons, whichever
/// the header row has more of, lines ended by CR LF, LF or CR; quoted fields may hold either and line ends.
/// Empty lines are passed over. Required are `case`, not empty and each only once, and `reading`, not empty.
/// A row that breaks this (too many or too few fields, a case that stood before, a stray quote, more than
/// 64 KiB) is kept with its problem. Refuses (unusable_input) what spoils the whole list: no header,
/// a missing or repeated column, text that isn't UTF-8, no row at all. `name` is the file as refusals name
/// it, `folder` what relative paths are relative to.
CaseList parse_case_list(std::string_view csv, const std::string& name, const std::filesystem::path& folder,
                         const CaseListNeeds& needs = {});

/// The same from a file of at most 1 GiB, or from a folder: each `*.reading.json` in it and in its folders,
/// by name, is a case that is called as the file without this ending.
CaseList load_case_list(const std::filesystem::path& file_or_folder, const CaseListNeeds& needs = {});

}  // namespace canalrule
