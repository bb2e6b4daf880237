#include <algorithm>
#include <cmath>

#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double plot_left = 48.0;
constexpr double seen_width = 52.0;  // column of how many could be seen
constexpr double height_per_place = 13.0;
constexpr double least_height = 120.0;
constexpr double most_height = 300.0;

double share_of(const PlacesChart::Place& place) {
  return place.seen == 0 ? 0.0 : static_cast<double>(place.found) / static_cast<double>(place.seen);
}

std::string summary_of(const PlacesChart& chart) {
  const auto most = std::max_element(
      chart.places.begin(), chart.places.end(),
      [](const PlacesChart::Place& a, const PlacesChart::Place& b) { return share_of(a) < share_of(b); });
  return clean("Most often " + chart.found + " from " + fixed(most->from_mm, 1) + " to " +
               fixed(most->to_mm, 1) + " mm from the apex: " + std::to_string(most->found) + " of " +
               std::to_string(most->seen) + " " + chart.counted + ".");
}

}  // namespace

Scene draw(const PlacesChart& chart) {
  double highest = 0.0;
  std::size_t seen = 0;
  for (const PlacesChart::Place& each : chart.places) {
    highest = std::max(highest, share_of(each));
    seen = std::max(seen, each.seen);
  }
  if (seen == 0) return empty_chart(chart.title, "No " + chart.counted + " to show.");

  const double tall =
      std::clamp(height_per_place * static_cast<double>(chart.places.size()), least_height, most_height);
  Plot plot{{plot_left, 16.0, chart_width - plot_left - seen_width - 8.0, tall},
            {0.0, 1.0},
            {chart.places.front().from_mm, chart.places.back().to_mm}};
  const Axis percent{"", Axis::Numbers::percent, 0, 0.0, std::nullopt};
  plot.x = rounded_range({std::max(highest, 0.05)}, percent);
  plot.x.high = std::min(1.0, plot.x.high);

  Scene scene{chart_width, plot.box.bottom() + 38.0, clean(chart.title), summary_of(chart), {}};
  Layer axes{"axes", std::nullopt, {}};
  add_x_axis(axes, plot, "Share of " + chart.counted + " " + chart.found + ", %",
             round_ticks(plot.x, percent, 5), Grid::drawn);
  add_y_axis(axes, plot, "Distance from the radiographic apex, mm", round_ticks(plot.y, {}, 8),
             Grid::left_out);
  const double number_right = plot.box.right() + seen_width;
  axes.items.emplace_back(Text{{number_right, plot.box.top - 4.0}, "seen", size_ticks, ink, Anchor::end});
  Layer bars{"bars", std::nullopt, {}};
  double last_number = plot.box.bottom() + 100.0;
  for (const PlacesChart::Place& each : chart.places) {
    const double top = plot.at_y(each.to_mm);
    const double foot = plot.at_y(each.from_mm);
    const double right = plot.at_x(share_of(each));
    if (each.found > 0) {
      bars.items.emplace_back(
          Polygon{{{plot.box.left, top}, {right, top}, {right, foot}, {plot.box.left, foot}},
                  body_fill,
                  Stroke{chart_ink, 0.9}});
    }
    const double base = (top + foot) / 2.0 + 0.36 * size_ticks;
    if (last_number - base >= line_height(size_ticks) - 1.0) {
      bars.items.emplace_back(
          Text{{number_right, base}, std::to_string(each.seen), size_ticks, ink, Anchor::end});
      last_number = base;
    }
  }
  add_outline(axes, plot.box);
  Layer apex{"apex", std::nullopt, {}};
  if (plot.y.low <= 0.0 && plot.y.high >= 0.0) {
    const double y = plot.at_y(0.0);
    apex.items.emplace_back(Line{{{plot.box.left, y}, {plot.box.right(), y}}, {ink, 1.2}});
    apex.items.emplace_back(mark(Shape::ring, {plot.box.left, y}));
  }
  scene.layers = {std::move(axes), std::move(bars), std::move(apex)};
  return scene;
}

}  // namespace canalrule::report
