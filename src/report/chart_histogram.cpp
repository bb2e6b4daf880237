#include <algorithm>
#include <cmath>

#include "chart_frame.hpp"
#include "labels.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double plot_left = 44.0;
constexpr double plot_height = 170.0;
constexpr double label_height = 12.0;
constexpr double right_margin = 14.0;  // half of the last tick's number

/// One bar from `from` to `to`.
Item bar(const Plot& plot, double from, double to, std::size_t count, const Stroke& edge,
         const std::optional<Colour>& fill) {
  const double left = plot.at_x(from);
  const double right = plot.at_x(to);
  const double top = plot.at_y(static_cast<double>(count));
  const double foot = plot.box.bottom();
  return Polygon{{{left, foot}, {left, top}, {right, top}, {right, foot}}, fill, edge};
}

std::string summary_of(const HistogramChart& chart, std::size_t all) {
  const auto most = std::max_element(
      chart.bins.begin(), chart.bins.end(),
      [](const HistogramChart::Bin& a, const HistogramChart::Bin& b) { return a.count < b.count; });
  const Axis& axis = chart.values;
  std::string out = std::to_string(all) + " " + chart.counted + ", " + chart.values.label +
                    "; most of them, " + std::to_string(most->count) + ", from " +
                    axis_text(most->from, axis) + " to " + axis_text(most->to, axis) + ".";
  for (const Reference& each : chart.references)
    out += " " + each.label + " at " + axis_text(each.at, axis) + ".";
  return clean(out);
}

/// A reference's label and the row above the plot that it stands in.
struct Label {
  std::string text;
  double x = 0.0;
  double base = 0.0;
};

struct Labels {
  std::vector<Label> labels;
  double height = 0.0;  ///< of all their rows
};

/// The labels, each in the lowest row in which it is free of those before it.
Labels labels_of(const std::vector<Reference>& references, const Plot& plot) {
  constexpr double apart = 4.0;
  Occupied occupied;
  Labels placed;
  for (const Reference& each : references) {
    Label label{fitted(clean(each.label), size_ticks, plot.box.width), 0.0, 0.0};
    const double wide = text_width(label.text, size_ticks);
    const double x = plot.at_x(std::clamp(each.at, plot.x.low, plot.x.high));
    label.x = std::clamp(x, plot.box.left + wide / 2.0, plot.box.right() - wide / 2.0);
    double row = 0.0;
    const auto box = [&] { return Box{label.x - (wide + apart) / 2.0, row, wide + apart, 0.5}; };
    while (!occupied.free(box())) row += 1.0;
    occupied.take(box());
    placed.height = std::max(placed.height, (row + 1.0) * label_height);
    label.base = -row * label_height;
    placed.labels.push_back(label);
  }
  for (Label& label : placed.labels) label.base += placed.height - 2.0;
  return placed;
}

/// The line of a reference over the plot, from below all labels, or an arrowhead at the edge that it lies
/// beyond.
Item reference_line(const Plot& plot, double value, double top) {
  const double at = std::clamp(value, plot.x.low, plot.x.high);
  const double x = plot.at_x(at);
  if (at == value) return Line{{{x, top}, {x, plot.box.bottom()}}, {ink, 1.1, Dash::dashed}};
  const double way = value > at ? 1.0 : -1.0;
  const double y = plot.box.top + 6.0;
  return Polygon{{{x, y}, {x - 7.0 * way, y - 3.5}, {x - 7.0 * way, y + 3.5}}, ink, std::nullopt};
}

}  // namespace

Scene draw(const HistogramChart& chart) {
  std::size_t all = chart.below + chart.above;
  std::size_t highest = std::max(chart.below, chart.above);
  for (const HistogramChart::Bin& bin : chart.bins) {
    all += bin.count;
    highest = std::max(highest, bin.count);
  }
  if (all == 0 || chart.bins.empty()) return empty_chart(chart.title, "No " + chart.counted + " to show.");

  const double first = chart.bins.front().from;
  const double last = chart.bins.back().to;
  const double bin_width = (last - first) / static_cast<double>(chart.bins.size());
  Plot plot{{plot_left, 0.0, chart_width - plot_left - right_margin, plot_height}, {first, last}, {0.0, 1.0}};
  if (chart.below > 0) plot.x.low -= 1.5 * bin_width;
  if (chart.above > 0) plot.x.high += 1.5 * bin_width;
  const Axis counts{"", Axis::Numbers::plain, 0, 0.0, std::nullopt};
  plot.y = rounded_range({static_cast<double>(highest)}, counts);
  if (plot.y.high < 2.0) plot.y.high = 2.0;

  Plot inner = plot;
  inner.box.left = plot.at_x(first);
  inner.box.width = plot.at_x(last) - inner.box.left;
  inner.x = {first, last};
  std::vector<Reference> references = chart.references;
  std::erase_if(references, [](const Reference& each) { return !std::isfinite(each.at); });
  const auto [labels, labels_height] = labels_of(references, inner);
  plot.box.top = inner.box.top = 4.0 + labels_height;

  Scene scene{chart_width, plot.box.bottom() + 38.0, clean(chart.title), summary_of(chart, all), {}};
  Layer axes{"axes", std::nullopt, {}};
  std::vector<Ticks> up = round_ticks(plot.y, counts, 5);
  std::erase_if(up, [](const Ticks& tick) { return tick.at != std::floor(tick.at); });
  add_y_axis(axes, plot, chart.counted, up, Grid::drawn);
  add_x_axis(axes, inner, chart.values.label, round_ticks(inner.x, chart.values, 7), Grid::left_out);
  Layer bars{"bars", std::nullopt, {}};
  const Stroke edge{chart_ink, 0.9};
  for (const HistogramChart::Bin& bin : chart.bins) {
    if (bin.count > 0) bars.items.emplace_back(bar(plot, bin.from, bin.to, bin.count, edge, body_fill));
  }
  const double tick_base = plot.box.bottom() + 3.5 + size_ticks;
  const auto outside = [&](double middle, std::size_t count, const char* name) {
    const Stroke dotted{chart_ink, 1.1, Dash::dotted};
    bars.items.emplace_back(
        bar(plot, middle - 0.5 * bin_width, middle + 0.5 * bin_width, count, dotted, white));
    bars.items.emplace_back(Text{{plot.at_x(middle), tick_base}, name, size_ticks, ink, Anchor::middle});
  };
  if (chart.below > 0) outside(first - bin_width, chart.below, "less");
  if (chart.above > 0) outside(last + bin_width, chart.above, "more");
  axes.items.emplace_back(
      Line{{{plot.box.left, plot.box.bottom()}, {plot.box.right(), plot.box.bottom()}}, {ink, 0.8}});
  Layer limits{"references", std::nullopt, {}};
  for (std::size_t i = 0; i < references.size(); ++i) {
    limits.items.emplace_back(
        Text{{labels[i].x, labels[i].base}, labels[i].text, size_ticks, ink, Anchor::middle});
    limits.items.push_back(reference_line(inner, references[i].at, labels_height + 0.5));
  }
  scene.layers = {std::move(axes), std::move(bars), std::move(limits)};
  return scene;
}

}  // namespace canalrule::report
