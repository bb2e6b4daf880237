#include <algorithm>
#include <array>
#include <cmath>

#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double plot_left = 50.0;
constexpr double plot_height = 170.0;
constexpr std::array<Shape, 4> shapes{Shape::disc, Shape::square, Shape::diamond, Shape::triangle};
constexpr std::array<Dash, 4> dashes{Dash::solid, Dash::dashed, Dash::dotted, Dash::dash_dotted};

using Moment = CourseChart::Moment;

bool shown(const Moment& moment) { return moment.value && std::isfinite(*moment.value); }

double clamped(double value, const Range& range) { return std::clamp(value, range.low, range.high); }

/// The line through the values that stand beside one another, the intervals, and the marks.
void add_series(Layer& layer, const CourseChart::Series& series, const Plot& plot, std::size_t index,
                double shift) {
  const Stroke stroke{chart_ink, 1.3, dashes[index % dashes.size()]};
  Polyline run;
  const auto end_run = [&] {
    if (run.size() > 1) layer.items.emplace_back(Line{run, stroke});
    run.clear();
  };
  std::vector<Item> marks;
  for (std::size_t i = 0; i < series.moments.size(); ++i) {
    const Moment& moment = series.moments[i];
    if (!shown(moment)) {
      end_run();
      continue;
    }
    const double at = static_cast<double>(i) + shift;
    run.push_back(plot.at(at, clamped(*moment.value, plot.y)));
    if (moment.interval) {
      const Point low = plot.at(at, clamped(moment.interval->low, plot.y));
      const Point high = plot.at(at, clamped(moment.interval->high, plot.y));
      const Stroke thin{chart_ink, 0.9};
      marks.emplace_back(Line{{low, high}, thin});
      for (const Point& end : {low, high})
        marks.emplace_back(Line{{{end.x - 3.0, end.y}, {end.x + 3.0, end.y}}, thin});
    }
    add(marks, placed_mark(shapes[index % shapes.size()], plot, at, *moment.value));
  }
  end_run();
  add(layer.items, std::move(marks));
}

std::string summary_of(const CourseChart& chart) {
  std::string out;
  for (const CourseChart::Series& series : chart.series) {
    const auto first = std::find_if(series.moments.begin(), series.moments.end(), shown);
    const auto last = std::find_if(series.moments.rbegin(), series.moments.rend(), shown);
    if (first == series.moments.end()) continue;
    out += (out.empty() ? "" : " ") + series.name + ": " + figure_text(*first->value, chart.values) + " at " +
           first->when + ", " + figure_text(*last->value, chart.values) + " at " + last->when + " (" +
           chart.values.label + ").";
  }
  return clean(out);
}

}  // namespace

Scene draw(const CourseChart& chart) {
  std::vector<double> values;
  std::size_t moments = 0;
  for (const CourseChart::Series& series : chart.series) {
    moments = std::max(moments, series.moments.size());
    for (const Moment& each : series.moments) {
      if (!shown(each)) continue;
      values.push_back(*each.value);
      if (each.interval) values.insert(values.end(), {each.interval->low, each.interval->high});
    }
  }
  if (values.empty()) return empty_chart(chart.title, "No figures over time to show.");

  Plot plot{{plot_left, 6.0, chart_width - plot_left - 12.0, plot_height},
            {-0.5, static_cast<double>(moments) - 0.5},
            rounded_range(values, chart.values)};
  Scene scene{chart_width, 0.0, clean(chart.title), summary_of(chart), {}};
  Layer axes{"axes", std::nullopt, {}};
  std::vector<Ticks> along;
  const std::vector<Moment>& first = chart.series.front().moments;
  const double room = plot.box.width / static_cast<double>(moments);
  double widest = 20.0;
  for (const Moment& each : first) widest = std::max(widest, text_width(clean(each.when), size_ticks) + 8.0);
  widest = std::min(widest, 90.0);
  const auto every = static_cast<std::size_t>(std::max(1.0, std::ceil(widest / room)));
  for (std::size_t i = 0; i < first.size(); i += every)
    along.push_back({static_cast<double>(i), fitted(clean(first[i].when), size_ticks, widest)});
  add_x_axis(axes, plot, "", along, Grid::left_out);
  add_y_axis(axes, plot, chart.values.label, round_ticks(plot.y, chart.values, 5), Grid::drawn);
  add_outline(axes, plot.box);

  Layer lines{"series", std::nullopt, {}};
  Layer legend{"legend", std::nullopt, {}};
  std::vector<LegendEntry> entries;
  const double spacing = 0.12;  // of the way to the next moment: series don't hide one another
  for (std::size_t i = 0; i < chart.series.size(); ++i) {
    const double shift =
        spacing * (static_cast<double>(i) - 0.5 * (static_cast<double>(chart.series.size()) - 1.0));
    add_series(lines, chart.series[i], plot, i, shift);
    const Shape shape = shapes[i % shapes.size()];
    const Stroke stroke{chart_ink, 1.3, dashes[i % dashes.size()]};
    entries.push_back({[shape, stroke](Point middle) -> std::vector<Item> {
                         return {Line{{{middle.x - 12.0, middle.y}, {middle.x + 12.0, middle.y}}, stroke},
                                 mark(shape, middle)};
                       },
                       chart.series[i].name});
  }
  entries.push_back({[](Point middle) -> std::vector<Item> {
                       const Stroke thin{chart_ink, 0.9};
                       return {
                           Line{{{middle.x, middle.y - 5.0}, {middle.x, middle.y + 5.0}}, thin},
                           Line{{{middle.x - 3.0, middle.y - 5.0}, {middle.x + 3.0, middle.y - 5.0}}, thin},
                           Line{{{middle.x - 3.0, middle.y + 5.0}, {middle.x + 3.0, middle.y + 5.0}}, thin}};
                     },
                     chart.confidence});
  double y = plot.box.bottom() + 20.0;
  y += add_legend(legend, entries, {4.0, y}, chart_width - 8.0);
  scene.height = y + 4.0;
  scene.layers = {std::move(axes), std::move(lines), std::move(legend)};
  return scene;
}

}  // namespace canalrule::report
