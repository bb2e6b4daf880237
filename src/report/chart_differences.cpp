#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double least_left = 50.0;
constexpr double least_right = 78.0;  // room for what the lines are called
constexpr double plot_height = 180.0;
constexpr double cell = 2.5;  // points nearer than this to one another are drawn once

struct Level {
  double at = 0.0;
  std::optional<Range> interval;
  Stroke stroke;
  std::string name;
};

std::vector<Level> levels_of(const DifferencesChart& chart) {
  const auto named = [&](const char* name, double at) {
    return std::string(name) + " " + figure_text(at, chart.differences);
  };
  return {
      {chart.upper_limit, chart.upper_interval, {ink, 1.1, Dash::dashed}, named("upper", chart.upper_limit)},
      {chart.mean_difference, chart.mean_interval, {ink, 1.2}, named("mean", chart.mean_difference)},
      {chart.lower_limit, chart.lower_interval, {ink, 1.1, Dash::dashed}, named("lower", chart.lower_limit)}};
}

void add_band(Layer& layer, const Plot& plot, const Range& interval) {
  const double top = plot.at_y(std::clamp(interval.high, plot.y.low, plot.y.high));
  const double bottom = plot.at_y(std::clamp(interval.low, plot.y.low, plot.y.high));
  const Box& box = plot.box;
  layer.items.emplace_back(
      Polygon{{{box.left, top}, {box.right(), top}, {box.right(), bottom}, {box.left, bottom}},
              body_fill,
              std::nullopt});
  for (const double edge : {top, bottom})
    layer.items.emplace_back(Line{{{box.left, edge}, {box.right(), edge}}, {ink_soft, 0.7, Dash::dotted}});
}

/// A name is a figure: it is never shortened.
double room_for(const std::vector<Level>& levels) {
  double room = least_right;
  for (const Level& level : levels) room = std::max(room, text_width(level.name, size_ticks) + 8.0);
  return room;
}

/// What the lines are called, right of the plot, none over another.
void add_names(Layer& layer, const Plot& plot, const std::vector<Level>& levels) {
  double above = plot.box.top - 4.0;
  for (const Level& level : levels) {
    const double wanted = plot.at_y(std::clamp(level.at, plot.y.low, plot.y.high)) + 0.36 * size_ticks;
    const double base = std::max(wanted, above + line_height(size_ticks));
    above = base;
    layer.items.emplace_back(Text{{plot.box.right() + 4.0, base}, level.name, size_ticks, ink});
  }
}

}  // namespace

Scene draw(const DifferencesChart& chart) {
  std::vector<double> means;
  std::vector<double> differences{0.0, chart.mean_difference, chart.lower_limit, chart.upper_limit};
  for (const DifferencesChart::Pair& each : chart.pairs) {
    if (!std::isfinite(each.mean) || !std::isfinite(each.difference)) continue;
    means.push_back(each.mean);
    differences.push_back(each.difference);
  }
  if (means.empty()) return empty_chart(chart.title, "No pairs of readings to show.");
  for (const std::optional<Range>& each : {chart.mean_interval, chart.lower_interval, chart.upper_interval}) {
    if (each) differences.insert(differences.end(), {each->low, each->high});
  }
  const std::vector<Level> levels = levels_of(chart);
  const Range up = rounded_range(differences, chart.differences);
  const std::vector<Ticks> up_ticks = round_ticks(up, chart.differences, 6);
  const double room_left = std::max(least_left, room_of_y_axis(up_ticks));
  const Plot plot{{room_left, 6.0, chart_width - room_left - room_for(levels), plot_height},
                  rounded_range(means, chart.means),
                  up};

  std::string summary = std::to_string(means.size()) + " pairs; difference ";
  for (std::size_t i = 0; i < levels.size(); ++i) summary += (i > 0 ? ", " : "") + levels[i].name;
  Scene scene{
      chart_width, 0.0, clean(chart.title), clean(summary + " (" + chart.differences.label + ")."), {}};

  Layer bands{"bands", plot.box, {}};
  for (const Level& level : levels) {
    if (level.interval) add_band(bands, plot, *level.interval);
  }
  Layer axes{"axes", std::nullopt, {}};
  add_x_axis(axes, plot, chart.means.label, round_ticks(plot.x, chart.means, 5), Grid::left_out);
  add_y_axis(axes, plot, chart.differences.label, up_ticks, Grid::left_out);
  add_outline(axes, plot.box);
  Layer lines{"lines", plot.box, {}};
  if (plot.y.low < 0.0 && plot.y.high > 0.0) {
    const double zero = plot.at_y(0.0);
    lines.items.emplace_back(Line{{{plot.box.left, zero}, {plot.box.right(), zero}}, {rule_grey, 1.0}});
  }
  for (const Level& level : levels) {
    if (!(level.at >= plot.y.low && level.at <= plot.y.high)) continue;
    const double y = plot.at_y(level.at);
    lines.items.emplace_back(Line{{{plot.box.left, y}, {plot.box.right(), y}}, level.stroke});
  }
  Layer points{"points", std::nullopt, {}};
  std::set<std::pair<long, long>> taken;
  for (const DifferencesChart::Pair& each : chart.pairs) {
    for (Item& item : placed_mark(Shape::ring, plot, each.mean, each.difference)) {
      auto* polygon = std::get_if<Polygon>(&item);
      if (polygon == nullptr) continue;
      const Point first = polygon->points.front();
      if (taken.emplace(std::lround(first.x / cell), std::lround(first.y / cell)).second)
        points.items.emplace_back(std::move(item));
    }
  }
  Layer names{"names", std::nullopt, {}};
  add_names(names, plot, levels);
  double y = plot.box.bottom() + 34.0;
  std::vector<LegendEntry> entries{mark_entry(Shape::ring, "a canal read twice"),
                                   line_entry({ink, 1.2}, "mean difference"),
                                   line_entry({ink, 1.1, Dash::dashed}, "limits of agreement")};
  if (chart.mean_interval || chart.lower_interval || chart.upper_interval) {
    entries.push_back(
        {[](Point middle) -> std::vector<Item> {
           const double left = middle.x - 12.0;
           const double right = middle.x + 12.0;
           std::vector<Item> items{Polygon{{{left, middle.y - 4.0},
                                            {right, middle.y - 4.0},
                                            {right, middle.y + 4.0},
                                            {left, middle.y + 4.0}},
                                           body_fill,
                                           std::nullopt}};
           for (const double edge : {middle.y - 4.0, middle.y + 4.0})
             items.emplace_back(Line{{{left, edge}, {right, edge}}, {ink_soft, 0.7, Dash::dotted}});
           return items;
         },
         chart.confidence});
  }
  y += add_legend(names, entries, {4.0, y}, chart_width - 8.0);
  scene.height = y + 4.0;
  scene.layers = {std::move(bands), std::move(axes), std::move(lines), std::move(points), std::move(names)};
  return scene;
}

}  // namespace canalrule::report
