#pragma once

#include <canalrule/report/document.hpp>
#include <canalrule/report/scene.hpp>
#include <vector>

#include "set_words.hpp"

/// A document laid out on sheets of A4, before anything is drawn.
namespace canalrule::report {

/// A scene on a sheet, made smaller by `scale`.
struct Placement {
  Scene scene;
  Point at;
  double scale = 1.0;
};

struct Sheet {
  Box whole;  ///< its size, points
  std::vector<Item> items;
  std::vector<Placement> placements;
};

constexpr double a4_short = 595.28;  // ISO 216: 210 mm x 297 mm
constexpr double a4_long = 841.89;
constexpr double sheet_margin = 42.5;  // 15 mm
constexpr double sheet_foot = 24.0;    // kept free for the title and the number

std::vector<Sheet> sheets_of(const Document& document);

/// Where the next thing goes.
class Flow {
 public:
  Flow();

  double left() const { return sheet_margin; }
  double width() const { return a4_short - 2.0 * sheet_margin; }
  double left_on_sheet() const { return bottom() - y_; }
  double sheet_height() const { return bottom() - sheet_margin; }

  /// Begins a new sheet where less than `height` is left and something stands on this one.
  void need(double height);
  void new_sheet();
  /// Room from here down; the sheet must have it.
  void skip(double height) { y_ += height; }
  double y() const { return y_; }

  std::vector<Item>& items() { return sheets_.back().items; }
  void place(const Scene& scene, double scale);
  /// On a sheet of its own that lies across; the flow goes on on another.
  void place_across(const Scene& scene);

  std::vector<Sheet> sheets() &&;

 private:
  double bottom() const { return a4_long - sheet_margin - sheet_foot; }
  bool fresh() const { return sheets_.back().items.empty() && sheets_.back().placements.empty(); }
  void begin_sheet();

  std::vector<Sheet> sheets_;
  double y_ = sheet_margin;
};

/// A table from here on, its head repeated on every sheet that it goes on to.
void flow_table(Flow& flow, const Table& table);
/// The least room in which it begins: caption, head and first row.
double table_start(const Table& table);

}  // namespace canalrule::report
