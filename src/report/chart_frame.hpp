#pragma once

#include <canalrule/report/chart.hpp>
#include <canalrule/report/scene.hpp>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "look.hpp"

/// What all charts are built with: a plot with two axes, marks of several shapes, a legend.
namespace canalrule::report {

constexpr double size_chart = 9.0;  ///< letters of a chart, points
constexpr double size_ticks = 8.5;
constexpr double mark_radius = 3.2;
constexpr Colour grid_grey{224, 227, 231};
constexpr Colour chart_ink{0, 70, 115};  ///< of what was counted; dark enough to stand for black

/// A rectangle of the page and the values at its edges; y grows upwards.
struct Plot {
  Box box;
  Range x, y;
  double at_x(double value) const;
  double at_y(double value) const;
  Point at(double x_value, double y_value) const { return {at_x(x_value), at_y(y_value)}; }
};

/// Round values inside the range, about as many as asked for; steps of 1, 2 or 5 times a power of ten.
std::vector<double> round_values(const Range& range, int about);

/// The range of the finite ones among the values, widened to round values; never empty, and with ends that
/// the axis fixes. Without a finite value 0 to 1.
Range rounded_range(const std::vector<double>& values, const Axis& axis);

/// A value as an axis shows it.
std::string axis_text(double value, const Axis& axis);
/// A value as a table shows it.
std::string figure_text(double value, const Axis& axis);

struct Ticks {
  double at = 0.0;
  std::string text;
};
std::vector<Ticks> round_ticks(const Range& range, const Axis& axis, int about);

/// What an upright axis with these ticks and its name takes left of a plot, pt.
double room_of_y_axis(const std::vector<Ticks>& ticks);

enum class Grid { drawn, left_out };

/// Ticks, their texts, the axis' own name below (or turned, at the left).
void add_x_axis(Layer& layer, const Plot& plot, const std::string& label, const std::vector<Ticks>& ticks,
                Grid grid);
void add_y_axis(Layer& layer, const Plot& plot, const std::string& label, const std::vector<Ticks>& ticks,
                Grid grid);
void add_outline(Layer& layer, const Box& box);

enum class Shape { disc, ring, square, triangle, diamond };
/// One closed shape about a place.
Item mark(Shape shape, Point centre, double radius = mark_radius);

/// A mark at a value, at the edge of the plot and with an arrowhead pointing out of it where the value lies
/// outside; nothing for a value that is no number.
std::vector<Item> placed_mark(Shape shape, const Plot& plot, double x, double y);

struct LegendEntry {
  std::function<std::vector<Item>(Point middle)> sign;  ///< 24 points wide
  std::string text;
};
/// Entries side by side from the top left, as many lines as they need; gives the height used.
double add_legend(Layer& layer, const std::vector<LegendEntry>& entries, Point top_left, double width);

/// A straight piece in a line style, for a legend.
LegendEntry line_entry(const Stroke& stroke, std::string text);
LegendEntry mark_entry(Shape shape, std::string text);

/// Oblique strokes inside dotted edges.
std::vector<Item> hatched(const Box& box);

/// A chart that has nothing to show: its title for a screen reader and one sentence.
Scene empty_chart(const std::string& title, const std::string& sentence);

Scene draw(const HistogramChart& chart);
Scene draw(const SharesChart& chart);
Scene draw(const FunnelChart& chart);
Scene draw(const DifferencesChart& chart);
Scene draw(const PlacesChart& chart);
Scene draw(const CourseChart& chart);

}  // namespace canalrule::report
