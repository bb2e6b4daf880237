#include <csv.h>

#include <canalrule/record/csv.hpp>
#include <new>
#include <utility>

namespace canalrule {

namespace {

/// Also what bounds the work that a stray quote can make.
constexpr std::size_t longest_row = 64U << 10U;  // bytes; chosen here

/// The text's lines, each with what ends it: LF, CR LF or CR.
std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    std::size_t end = text.find_first_of("\r\n");
    end = end == std::string_view::npos ? text.size() : end + 1;
    if (end < text.size() && text[end - 1] == '\r' && text[end] == '\n') ++end;
    lines.push_back(text.substr(0, end));
    text.remove_prefix(end);
  }
  return lines;
}

int no_space(unsigned char) { return 0; }  // spaces are part of a field (RFC 4180, 2.4)

/// libcsv's parser, set to RFC 4180.
class Parser {
 public:
  explicit Parser(char delimiter) {
    if (csv_init(&parser_, CSV_STRICT | CSV_STRICT_FINI) != 0) throw std::bad_alloc();
    csv_set_delim(&parser_, static_cast<unsigned char>(delimiter));
    csv_set_space_func(&parser_, no_space);
  }
  ~Parser() { csv_free(&parser_); }
  Parser(const Parser&) = delete;
  Parser& operator=(const Parser&) = delete;

  enum class State { row_complete, row_goes_on, broken };

  /// One line, with what ends it.
  State feed(std::string_view line) {
    complete_ = false;
    if (csv_parse(&parser_, line.data(), line.size(), take_field, take_row, this) != line.size())
      return failed();
    return complete_ ? State::row_complete : State::row_goes_on;
  }

  /// The end of the text, which also ends a row.
  State finish() {
    if (csv_fini(&parser_, take_field, take_row, this) != 0) return failed();
    return State::row_complete;
  }

  std::vector<std::string> take() { return std::move(fields_); }

 private:
  static void take_field(void* text, std::size_t size, void* self) {
    static_cast<Parser*>(self)->fields_.emplace_back(static_cast<const char*>(text), size);
  }
  static void take_row(int, void* self) { static_cast<Parser*>(self)->complete_ = true; }

  State failed() {
    if (csv_error(&parser_) != CSV_EPARSE) throw std::bad_alloc();
    return State::broken;
  }

  csv_parser parser_{};
  std::vector<std::string> fields_;
  bool complete_ = false;
};

/// The row that begins at `first`, and how many lines it takes.
struct RowRead {
  CsvRow row;
  std::size_t lines = 1;
};

RowRead read_row(const std::vector<std::string_view>& lines, std::size_t first, char delimiter) {
  RowRead read;
  read.row.line = first + 1;
  Parser parser(delimiter);
  std::size_t bytes = 0;
  Parser::State state = Parser::State::row_goes_on;
  std::size_t next = first;
  while (state == Parser::State::row_goes_on && next < lines.size() && bytes <= longest_row) {
    bytes += lines[next].size();
    state = parser.feed(lines[next++]);
  }
  if (state == Parser::State::row_goes_on && bytes <= longest_row) state = parser.finish();
  if (state == Parser::State::row_complete) {
    read.row.fields = parser.take();
    read.lines = next - first;
  } else if (bytes > longest_row) {
    read.row.problem = "a row of more than 64 KiB begins here; look for a quote that isn't closed";
  } else {
    read.row.problem =
        "a quote stands where none can; a field that holds quotes is quoted itself, and they "
        "are doubled in it";
  }
  return read;
}

bool is_blank(std::string_view line) { return line.find_first_not_of("\r\n") == std::string_view::npos; }

}  // namespace

std::vector<CsvRow> csv_rows(std::string_view text, char delimiter) {
  const std::vector<std::string_view> lines = lines_of(text);
  std::vector<CsvRow> rows;
  for (std::size_t next = 0; next < lines.size();) {
    if (is_blank(lines[next])) {
      ++next;
      continue;
    }
    RowRead read = read_row(lines, next, delimiter);
    rows.push_back(std::move(read.row));
    next += read.lines;
  }
  return rows;
}

}  // namespace canalrule
