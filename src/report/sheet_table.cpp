#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <numeric>

#include "sheets.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double size_cell = 8.0;
constexpr double gutter = 9.0;
constexpr double row_padding = 2.4;  // above and below the lines of a row

/// The columns' widths: as wide as they want where there is room; else none narrower than its longest word as
/// long as that can be, the rest shared out by what each wants beyond it.
std::vector<double> column_widths(const Table& table, double room) {
  std::vector<double> wanted;
  std::vector<double> least;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    Extent widest = extent_of(table.columns[i].heading, size_cell, Weight::bold);
    for (const std::vector<Words>& row : table.rows) {
      const Extent extent = extent_of(row[i], size_cell);
      widest = {std::max(widest.line, extent.line), std::max(widest.word, extent.word)};
    }
    wanted.push_back(widest.line);
    least.push_back(std::min(widest.word, 0.5 * room));
  }
  const double gutters = gutter * static_cast<double>(table.columns.size() - 1);
  const double all_wanted = std::accumulate(wanted.begin(), wanted.end(), gutters);
  if (all_wanted <= room) return wanted;
  const double all_least = std::accumulate(least.begin(), least.end(), gutters);
  std::vector<double> widths;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    widths.push_back(all_least < room
                         ? least[i] + (room - all_least) * (wanted[i] - least[i]) / (all_wanted - all_least)
                         : (room - gutters) * least[i] / (all_least - gutters));
  }
  return widths;
}

struct SetRow {
  std::vector<SetLines> cells;
  double height() const {
    double tallest = 0.0;
    for (const SetLines& cell : cells) tallest = std::max(tallest, cell.height());
    return tallest + 2.0 * row_padding;
  }
};

class Setter {
 public:
  Setter(Flow& flow, const Table& table)
      : flow_(flow), table_(table), widths_(column_widths(table, flow.width())) {
    std::vector<Words> headings;
    for (const Column& column : table.columns) headings.emplace_back(column.heading);
    head_ = set(headings, Weight::bold);
    for (const std::vector<Words>& row : table.rows) {
      ensure(row.size() == table.columns.size(), "a row has a cell for each column");
      rows_.push_back(set(row, Weight::normal));
    }
  }

  double start() const { return caption().height() + 3.0 + head_.height() + 1.0 + rows_.front().height(); }

  void write() {
    flow_.need(std::min(start(), flow_.sheet_height()));
    write_head("");
    for (const SetRow& row : rows_) {
      if (row.height() > flow_.left_on_sheet() && !just_begun_) {
        flow_.new_sheet();
        write_head(" (continued)");
      }
      write_row(row);
    }
    flow_.skip(10.0);
  }

 private:
  SetLines caption(const std::string& more = "") const {
    return set_words(table_.caption + more, size_cell + 0.5, flow_.width(), Weight::bold);
  }

  SetRow set(const std::vector<Words>& cells, Weight weight) const {
    SetRow row;
    for (std::size_t i = 0; i < cells.size(); ++i)
      row.cells.push_back(set_words(cells[i], size_cell, widths_[i] + 0.01, weight));
    return row;
  }

  void rule(const Stroke& stroke) {
    const double wide =
        std::accumulate(widths_.begin(), widths_.end(), gutter * static_cast<double>(widths_.size() - 1));
    flow_.items().emplace_back(Line{{{flow_.left(), flow_.y()}, {flow_.left() + wide, flow_.y()}}, stroke});
  }

  void write_head(const std::string& more) {
    const SetLines lines = caption(more);
    for (std::size_t i = 0; i < lines.lines.size(); ++i) {
      draw_line(flow_.items(), lines, i, flow_.left(), flow_.y() + size_cell, Column::Holds::text,
                flow_.width(), Weight::bold);
      flow_.skip(line_height(lines.size));
    }
    flow_.skip(3.0);
    write_cells(head_, 0, head_lines(), Weight::bold);
    rule({ink, 1.0});
    flow_.skip(1.0);
    just_begun_ = true;
  }

  std::size_t head_lines() const { return most_lines(head_); }

  static std::size_t most_lines(const SetRow& row) {
    std::size_t most = 0;
    for (const SetLines& cell : row.cells) most = std::max(most, cell.lines.size());
    return most;
  }

  void write_cells(const SetRow& row, std::size_t first, std::size_t last, Weight weight) {
    flow_.skip(row_padding);
    double x = flow_.left();
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      double base = flow_.y() + 0.93 * size_cell;
      for (std::size_t line = first; line < std::min(last, row.cells[i].lines.size()); ++line) {
        draw_line(flow_.items(), row.cells[i], line, x, base, table_.columns[i].holds, widths_[i], weight);
        base += line_height(size_cell);
      }
      x += widths_[i] + gutter;
    }
    flow_.skip(line_height(size_cell) * static_cast<double>(last - first) + row_padding);
  }

  /// A row in one piece; only one that is taller than a sheet goes on to the next.
  void write_row(const SetRow& row) {
    const std::size_t lines = most_lines(row);
    for (std::size_t first = 0; first < lines;) {
      const double room = flow_.left_on_sheet() - 2.0 * row_padding;
      const auto fitting = static_cast<std::size_t>(std::max(1.0, room / line_height(size_cell) + 1e-6));
      const std::size_t last = std::min(lines, first + fitting);
      write_cells(row, first, last, Weight::normal);
      first = last;
      if (first < lines) flow_.new_sheet();
    }
    rule({rule_grey, 0.6});
    just_begun_ = false;
  }

  Flow& flow_;
  const Table& table_;
  std::vector<double> widths_;
  SetRow head_;
  std::vector<SetRow> rows_;
  bool just_begun_ = false;
};

}  // namespace

double table_start(const Table& table) {
  if (table.rows.empty()) return line_height(size_cell);
  Flow empty;  // all sheets are as wide
  return Setter(empty, table).start();
}

void flow_table(Flow& flow, const Table& table) {
  ensure(!table.columns.empty() && !table.rows.empty(), "a table has columns and rows");
  Setter(flow, table).write();
}

}  // namespace canalrule::report
