#include <algorithm>
#include <cmath>

#include "chart_frame.hpp"
#include "labels.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

using Place = FunnelChart::Point::Place;

constexpr double plot_left = 44.0;
constexpr double plot_height = 190.0;
constexpr std::size_t most_named = 15;  // points inside the limits that still get their names written beside

Shape shape_of(Place place) {
  switch (place) {
    case Place::inside:
      return Shape::ring;
    case Place::below:
    case Place::above:
      return Shape::square;
    case Place::not_placed:
      return Shape::diamond;
  }
  return Shape::ring;
}

bool stands_out(const FunnelChart::Point& point) {
  return point.place == Place::below || point.place == Place::above;
}

/// One curve through the limits.
void add_curve(Layer& layer, const FunnelChart& chart, const Plot& plot,
               double (*value)(const FunnelChart::Limits&), const Stroke& stroke) {
  Polyline points;
  for (const FunnelChart::Limits& each : chart.limits) {
    if (each.size < plot.x.low || each.size > plot.x.high) continue;
    points.push_back(plot.at(each.size, std::clamp(value(each), plot.y.low, plot.y.high)));
  }
  if (points.size() > 1) layer.items.emplace_back(Line{points, stroke});
}

std::string summary_of(const FunnelChart& chart) {
  if (chart.points.empty()) return "No group has enough cases to be placed.";
  std::string apart;
  for (const FunnelChart::Point& each : chart.points) {
    if (stands_out(each))
      apart +=
          (apart.empty() ? "" : ", ") + each.label + (each.place == Place::below ? " (below)" : " (above)");
  }
  return clean(std::to_string(chart.points.size()) + " points about the share of " + chart.centre_label +
               ", " + fixed(100.0 * chart.centre.low, 0) + " to " + fixed(100.0 * chart.centre.high, 0) +
               " %. " + (apart.empty() ? "None lies beyond the " : "Beyond the ") + chart.outer_label +
               (apart.empty() ? "." : ": " + apart + "."));
}

Point mark_place(const Plot& plot, const FunnelChart::Point& point) {
  return plot.at(std::clamp(point.size, plot.x.low, plot.x.high),
                 std::clamp(point.lowest, plot.y.low, plot.y.high));
}

/// Names beside the marks, where they cover nothing.
void add_names(Layer& layer, const FunnelChart& chart, const Plot& plot) {
  Occupied occupied;
  for (const FunnelChart::Point& each : chart.points) {
    const Point at = mark_place(plot, each);
    occupied.take({at.x - 4.0, at.y - 4.0, 8.0, 8.0});
  }
  for (const FunnelChart::Point& each : chart.points) {
    if (!stands_out(each) && chart.points.size() > most_named) continue;
    const std::string name = fitted(clean(each.label), size_ticks, 90.0);
    const Point at = mark_place(plot, each);
    const double wide = text_width(name, size_ticks);
    for (const double offset : {0.0, -9.0, 9.0}) {
      const Box right{at.x + 6.0, at.y + offset - 5.0, wide, 10.0};
      const Box left{at.x - 6.0 - wide, at.y + offset - 5.0, wide, 10.0};
      const Box* place = occupied.free(right) && right.right() < plot.box.right() ? &right
                         : occupied.free(left) && left.left > plot.box.left       ? &left
                                                                                  : nullptr;
      if (place == nullptr) continue;
      occupied.take(*place);
      Text text{{place->left, place->bottom() - 2.0}, name, size_ticks, ink};
      text.halo = white;
      layer.items.emplace_back(text);
      break;
    }
  }
}

}  // namespace

Scene draw(const FunnelChart& chart) {
  if (chart.points.empty()) return empty_chart(chart.title, "There is nobody to show.");
  std::vector<double> sizes{0.0};
  std::vector<double> shares{chart.centre.low, chart.centre.high};
  for (const FunnelChart::Point& each : chart.points) {
    sizes.push_back(each.size * 1.08);
    shares.insert(shares.end(), {each.lowest, each.highest, each.limits.low, each.limits.high});
  }
  std::erase_if(shares, [](double share) { return !(share >= 0.0 && share <= 1.0); });
  Plot plot{{plot_left, 6.0, chart_width - plot_left - 10.0, plot_height}, {}, {}};
  plot.x = rounded_range(sizes, {"", Axis::Numbers::plain, 0, 0.0, std::nullopt});
  plot.y = rounded_range(shares, {});
  plot.y = {std::max(0.0, plot.y.low), std::min(1.0, plot.y.high)};

  Scene scene{chart_width, 0.0, clean(chart.title), summary_of(chart), {}};
  Layer axes{"axes", std::nullopt, {}};
  const Axis percent{"", Axis::Numbers::percent, 0, {}, {}};
  add_x_axis(axes, plot, chart.sized, round_ticks(plot.x, {}, 6), Grid::left_out);
  add_y_axis(axes, plot, chart.label, round_ticks(plot.y, percent, 5), Grid::drawn);
  add_outline(axes, plot.box);

  Layer limits{"limits", plot.box, {}};
  const Stroke centre{ink, 1.0};
  const Stroke inner{ink_soft, 1.0, Dash::dashed};
  const Stroke outer{ink, 1.3, Dash::dotted};
  add_curve(
      limits, chart, plot, [](const FunnelChart::Limits& at) { return at.inner.low; }, inner);
  add_curve(
      limits, chart, plot, [](const FunnelChart::Limits& at) { return at.inner.high; }, inner);
  add_curve(
      limits, chart, plot, [](const FunnelChart::Limits& at) { return at.outer.low; }, outer);
  add_curve(
      limits, chart, plot, [](const FunnelChart::Limits& at) { return at.outer.high; }, outer);
  for (const double share : {chart.centre.low, chart.centre.high}) {
    const double y = plot.at_y(std::clamp(share, plot.y.low, plot.y.high));
    limits.items.emplace_back(Line{{{plot.box.left, y}, {plot.box.right(), y}}, centre});
  }
  Layer points{"points", std::nullopt, {}};
  bool out = false;
  bool unplaced = false;
  bool ranged = false;
  for (const FunnelChart::Point& each : chart.points) {
    if (each.highest > each.lowest) {
      const double x = std::clamp(each.size, plot.x.low, plot.x.high);
      const Point from = plot.at(x, std::clamp(each.lowest, plot.y.low, plot.y.high));
      points.items.emplace_back(
          Line{{from, plot.at(x, std::clamp(each.highest, plot.y.low, plot.y.high))}, {chart_ink, 1.6}});
    }
    add(points.items, placed_mark(shape_of(each.place), plot, each.size, each.lowest));
    out = out || stands_out(each);
    ranged = ranged || each.highest > each.lowest;
    unplaced = unplaced || each.place == Place::not_placed;
  }
  add_names(points, chart, plot);

  Layer legend{"legend", std::nullopt, {}};
  std::vector<LegendEntry> entries{line_entry(centre, chart.centre_label),
                                   line_entry(inner, chart.inner_label), line_entry(outer, chart.outer_label),
                                   mark_entry(Shape::ring, "inside")};
  if (ranged) {
    entries.push_back({[](Point middle) -> std::vector<Item> {
                         return {
                             Line{{{middle.x, middle.y + 4.0}, {middle.x, middle.y - 6.0}}, {chart_ink, 1.6}},
                             mark(Shape::ring, {middle.x, middle.y + 3.0})};
                       },
                       "bar: up to too close to call as within"});
  }
  if (out) entries.push_back(mark_entry(Shape::square, "beyond the " + chart.outer_label));
  if (unplaced) entries.push_back(mark_entry(Shape::diamond, "too few cases to place"));
  double y = plot.box.bottom() + 34.0;
  y += add_legend(legend, entries, {4.0, y}, chart_width - 8.0);
  scene.height = y + 4.0;
  scene.layers = {std::move(axes), std::move(limits), std::move(points), std::move(legend)};
  return scene;
}

}  // namespace canalrule::report
