#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/utf8.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/case_list.hpp>
#include <canalrule/record/csv.hpp>
#include <canalrule/record/tooth.hpp>
#include <unordered_map>

#include "shorten.hpp"

namespace canalrule {

namespace fs = std::filesystem;

namespace {

constexpr std::uint64_t largest_list_bytes = 1U << 30U;  // some millions of rows; chosen here
constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
constexpr std::string_view reading_ending = ".reading.json";

[[noreturn]] void refuse(const std::string& file, const std::string& field, const std::string& what,
                         const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, file, field, what, remedy);
}

bool same_name(std::string_view one, std::string_view other) { return lower_case(one) == lower_case(other); }

/// A comma or a semicolon, whichever the first line has more of outside quotes.
char delimiter_of(std::string_view text) {
  std::size_t commas = 0, semicolons = 0;
  bool quoted = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\n' || c == '\r') {
      if (commas + semicolons > 0) break;
    }
    commas += c == ',' ? 1U : 0U;
    semicolons += c == ';' ? 1U : 0U;
  }
  return semicolons > commas ? ';' : ',';
}

std::string named(const std::vector<std::string>& columns) {
  std::string all;
  for (const std::string& column : columns) all += (all.empty() ? "" : ", ") + shorten(column);
  return all;
}

void check_header(const CaseList& list, const CaseListNeeds& needs) {
  for (std::size_t i = 0; i < list.columns.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (same_name(list.columns[i], list.columns[j]))
        refuse(list.file, "line 1", "two columns are named '" + shorten(list.columns[i]) + "'",
               "give each its own name");
  std::vector<std::string> required{"case"};
  if (needs.readings == CaseListNeeds::Readings::needed) required.push_back("reading");
  required.insert(required.end(), needs.further_columns.begin(), needs.further_columns.end());
  for (const std::string& column : required)
    if (!list.find_column(column))
      refuse(list.file, "line 1",
             "the column '" + column + "' is missing; the header names " + named(list.columns),
             "the first row must name the columns, parted by commas or semicolons");
}

/// The line that first holds bytes that aren't UTF-8; 0 where none does.
std::size_t first_line_not_utf8(std::string_view text) {
  std::size_t line = 1;
  while (!text.empty()) {
    const std::size_t length = utf8_length(text);
    if (length == 0) return line;
    // LF, CR LF or CR, as csv_rows reads them.
    line += text[0] == '\n' || (text[0] == '\r' && !text.substr(1).starts_with('\n')) ? 1U : 0U;
    text.remove_prefix(length);
  }
  return 0;
}

bool has_control_characters(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x20U || c == 0x7F; });
}

bool is_empty(std::string_view text) { return text.find_first_not_of(' ') == std::string_view::npos; }

/// What is wrong with a row whose fields are as many as the columns; empty where nothing is.
std::string problem_of(const CaseList& list, const CaseListRow& row, CaseListNeeds::Readings readings) {
  const std::string& name = list.value(row, "case");
  const std::string& reading = list.value(row, "reading");
  if (is_empty(name)) return "the case has no name; give it one";
  if (has_control_characters(name)) return "the case's name holds a line end or another control character";
  if (readings == CaseListNeeds::Readings::needed && is_empty(reading))
    return "the case names no reading; give the path of its *.reading.json";
  if (has_control_characters(reading))
    return "the reading's path holds a line end or another control character";
  const std::string& tooth = list.value(row, "tooth");
  if (!tooth.empty() && !is_tooth(tooth))
    return "the column 'tooth' holds '" + printable_line(tooth) +
           "'; give a tooth by ISO 3950, '11' to '48' or '51' to '85', or nothing";
  return "";
}

/// Rows whose case stood before get that for their problem; the first one stands.
void mark_repeated(CaseList& list) {
  std::unordered_map<std::string_view, std::size_t> line_of;
  line_of.reserve(list.rows.size());
  for (CaseListRow& row : list.rows) {
    if (!row.problem.empty()) continue;
    const auto [first, is_new] = line_of.emplace(list.value(row, "case"), row.line);
    if (!is_new)
      row.problem = "a case of this name stands already in line " + std::to_string(first->second) +
                    "; give each row a name of its own";
  }
}

}  // namespace

std::optional<std::size_t> CaseList::find_column(std::string_view name) const {
  const auto found = std::find_if(columns.begin(), columns.end(),
                                  [&](const std::string& column) { return same_name(column, name); });
  if (found == columns.end()) return std::nullopt;
  return static_cast<std::size_t>(found - columns.begin());
}

const std::string& CaseList::value(const CaseListRow& row, std::string_view column) const {
  static const std::string none;
  const std::optional<std::size_t> place = find_column(column);
  return place && *place < row.values.size() ? row.values[*place] : none;
}

fs::path CaseList::reading_of(const CaseListRow& row) const {
  return folder / fs::path(value(row, "reading"));
}

CaseList parse_case_list(std::string_view csv, const std::string& name, const fs::path& folder,
                         const CaseListNeeds& needs) {
  CaseList list;
  list.file = name;
  list.folder = folder;
  list.sha256 = sha256_hex({reinterpret_cast<const std::uint8_t*>(csv.data()), csv.size()});
  if (const std::size_t line = first_line_not_utf8(csv); line != 0)
    refuse(name, "line " + std::to_string(line), "the text isn't UTF-8", "save the list as CSV in UTF-8");
  if (csv.starts_with(byte_order_mark)) csv.remove_prefix(byte_order_mark.size());

  std::vector<CsvRow> rows = csv_rows(csv, delimiter_of(csv));
  if (rows.empty()) refuse(name, "", "the list is empty", "its first row must name the columns");
  if (!rows.front().problem.empty())
    refuse(name, "line " + std::to_string(rows.front().line), "the header can't be read",
           rows.front().problem);
  list.columns = std::move(rows.front().fields);
  check_header(list, needs);
  if (rows.size() == 1) refuse(name, "", "the list has a header and no case", "add a row for each case");

  list.rows.reserve(rows.size() - 1);
  for (std::size_t i = 1; i < rows.size(); ++i) {
    CaseListRow row{rows[i].line, std::move(rows[i].fields), std::move(rows[i].problem)};
    const std::size_t fields = row.values.size();
    row.values.resize(list.columns.size());
    if (row.problem.empty() && fields != list.columns.size())
      row.problem = "the row has " + std::to_string(fields) + " fields, the header " +
                    std::to_string(list.columns.size()) +
                    "; put a field that holds a comma between quotes, and leave an empty field where nothing is known";
    if (row.problem.empty()) row.problem = problem_of(list, row, needs.readings);
    list.rows.push_back(std::move(row));
  }
  mark_repeated(list);
  return list;
}

namespace {

CaseList list_of_folder(const fs::path& folder) {
  CaseList list;
  list.source = CaseList::Source::folder;
  list.file = folder.string();
  list.folder = folder;
  list.columns = {"case", "reading"};
  std::vector<std::string> readings;
  std::error_code error;
  for (fs::recursive_directory_iterator entry(folder, fs::directory_options::skip_permission_denied, error),
       end;
       !error && entry != end; entry.increment(error))
    if (entry->path().filename().string().ends_with(reading_ending))
      readings.push_back(entry->path().lexically_relative(folder).generic_string());
  if (error) refuse(list.file, "", "the folder can't be read: " + error.message(), "check its permissions");
  if (readings.empty())
    refuse(list.file, "", "no *.reading.json lies in this folder", "name a folder of readings");
  std::sort(readings.begin(), readings.end());
  std::string names;
  for (const std::string& reading : readings) {
    names += reading + '\n';
    CaseListRow row;
    row.line = list.rows.size() + 1;
    row.values = {reading.substr(0, reading.size() - reading_ending.size()), reading};
    row.problem = first_line_not_utf8(reading) == 0 ? problem_of(list, row, CaseListNeeds::Readings::needed)
                                   : "the file's name is not UTF-8: give it another";
    list.rows.push_back(std::move(row));
  }
  list.sha256 = sha256_hex({reinterpret_cast<const std::uint8_t*>(names.data()), names.size()});
  return list;
}

}  // namespace

CaseList load_case_list(const fs::path& file_or_folder, const CaseListNeeds& needs) {
  std::error_code ignored;
  if (fs::is_directory(file_or_folder, ignored)) {
    const CaseList list = list_of_folder(file_or_folder);
    check_header(list, needs);
    return list;
  }
  const std::vector<std::uint8_t> bytes = read_whole(file_or_folder, largest_list_bytes);
  return parse_case_list({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, file_or_folder.string(),
                         file_or_folder.parent_path(), needs);
}

}  // namespace canalrule
