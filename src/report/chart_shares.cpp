#include <algorithm>
#include <cmath>

#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr std::size_t most_rows = 30;  // more would not fit a sheet; the table has them all
constexpr double label_width = 112.0;
constexpr double row_height = 24.0;
constexpr double band_height = 9.0;

double within_axis(double share) { return std::clamp(share, 0.0, 1.0); }

/// The interval as a line with ends across, over the band from the lowest to the highest share.
void add_share(Layer& layer, const Plot& plot, const SharesChart::Share& share, double y) {
  if (share.counted <= 0.0) {
    layer.items.emplace_back(
        Text{{plot.box.left + 6.0, y + 0.36 * size_ticks}, "none counted", size_ticks, ink});
    return;
  }
  const double low = plot.at_x(within_axis(share.lowest));
  const double high = plot.at_x(within_axis(share.highest));
  if (high - low > 0.5) add(layer.items, hatched({low, y - band_height / 2.0, high - low, band_height}));
  if (share.interval) {
    const double from = plot.at_x(within_axis(share.interval->low));
    const double to = plot.at_x(within_axis(share.interval->high));
    const Stroke stroke{chart_ink, 1.4};
    layer.items.emplace_back(Line{{{from, y}, {to, y}}, stroke});
    for (const double end : {from, to})
      layer.items.emplace_back(Line{{{end, y - 4.0}, {end, y + 4.0}}, stroke});
  }
  layer.items.emplace_back(mark(Shape::disc, {low, y}));
  if (high - low > 0.5) layer.items.emplace_back(mark(Shape::ring, {high, y}));
}

std::string summary_of(const SharesChart& chart, std::size_t drawn) {
  const Axis percent{"", Axis::Numbers::percent, 0, {}, {}};
  std::string out = std::to_string(chart.shares.size()) + " shares of " + chart.counted + ": ";
  for (std::size_t i = 0; i < drawn; ++i) {
    const SharesChart::Share& each = chart.shares[i];
    const std::string low = figure_text(each.lowest, percent);
    const std::string high = figure_text(each.highest, percent);
    out += (i > 0 ? "; " : "") + each.label + " " + low + (low == high ? "" : " to " + high) + " %";
  }
  return clean(out + ".");
}

}  // namespace

Scene draw(const SharesChart& chart) {
  std::vector<const SharesChart::Share*> shown;
  for (const SharesChart::Share& each : chart.shares) {
    if (shown.size() < most_rows && std::isfinite(each.lowest) && std::isfinite(each.highest))
      shown.push_back(&each);
  }
  if (shown.empty()) return empty_chart(chart.title, chart.when_empty);

  const std::size_t left_out = chart.shares.size() - shown.size();
  const Plot plot{{label_width + 8.0, 4.0, chart_width - label_width - 22.0,
                   row_height * static_cast<double>(shown.size())},
                  {0.0, 1.0},
                  {0.0, 1.0}};
  Scene scene{
      chart_width, 0.0, clean(chart.title), summary_of(chart, std::min(most_rows, chart.shares.size())), {}};
  const Axis percent{"", Axis::Numbers::percent, 0, 0.0, 1.0};
  Layer axes{"axes", std::nullopt, {}};
  add_x_axis(axes, plot, chart.label, round_ticks(plot.x, percent, 5), Grid::drawn);
  add_outline(axes, plot.box);
  Layer shares{"shares", std::nullopt, {}};
  bool band = false;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const SharesChart::Share& each = *shown[i];
    const double y = plot.box.top + row_height * (static_cast<double>(i) + 0.5);
    std::vector<std::string> lines = wrapped_to(clean(each.label), size_ticks, label_width, label_width);
    if (lines.size() > 2)
      lines = {lines[0], fitted(lines[1] + " " + lines[2] + " …", size_ticks, label_width)};
    double base =
        y + 0.36 * size_ticks - 0.5 * line_height(size_ticks) * (static_cast<double>(lines.size()) - 1.0);
    for (const std::string& line : lines) {
      axes.items.emplace_back(Text{{label_width, base}, line, size_ticks, ink, Anchor::end});
      base += line_height(size_ticks);
    }
    add_share(shares, plot, each, y);
    band = band || each.highest > each.lowest;
  }
  Layer legend{"legend", std::nullopt, {}};
  std::vector<LegendEntry> entries{
      mark_entry(Shape::disc, band ? "share, too close to call as outside" : "share")};
  if (band) {
    entries.push_back(mark_entry(Shape::ring, "too close to call as within"));
    entries.push_back({[](Point middle) {
                         return hatched({middle.x - 12.0, middle.y - 4.5, 24.0, 9.0});
                       },
                       "too close to call"});
  }
  entries.push_back({[](Point middle) -> std::vector<Item> {
                       const Stroke stroke{chart_ink, 1.4};
                       const double left = middle.x - 11.0;
                       const double right = middle.x + 11.0;
                       return {Line{{{left, middle.y}, {right, middle.y}}, stroke},
                               Line{{{left, middle.y - 4.0}, {left, middle.y + 4.0}}, stroke},
                               Line{{{right, middle.y - 4.0}, {right, middle.y + 4.0}}, stroke}};
                     },
                     chart.confidence});
  double y = plot.box.bottom() + 34.0;
  y += add_legend(legend, entries, {4.0, y}, chart_width - 8.0);
  if (left_out > 0) {
    y += line_height(size_ticks);
    legend.items.emplace_back(
        Text{{4.0, y}, "… and " + std::to_string(left_out) + " more in the table", size_ticks, ink});
  }
  scene.height = y + 4.0;
  scene.layers = {std::move(axes), std::move(shares), std::move(legend)};
  return scene;
}

}  // namespace canalrule::report
