#include "chart_frame.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double tick_length = 3.5;
constexpr double legend_sign_width = 24.0;
constexpr double legend_gap = 14.0;

double place(double value, const Range& range, double from, double to) {
  return from + (value - range.low) / (range.high - range.low) * (to - from);
}

/// The step of 1, 2 or 5 times a power of ten that parts the range into about so many pieces.
double round_step(const Range& range, int about) {
  const double raw = (range.high - range.low) / std::max(1, about);
  const double power = std::pow(10.0, std::floor(std::log10(raw)));
  for (const double step : {1.0, 2.0, 5.0}) {
    if (raw <= step * power * (1.0 + 1e-9)) return step * power;
  }
  return 10.0 * power;
}

std::string shortest(double value) {
  std::array<char, 40> buffer{};
  const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), std::abs(value),
                                          std::chars_format::general, 4);
  const std::string text(buffer.data(), error == std::errc{} ? end : buffer.data());
  return value < 0.0 ? "−" + text : text;
}

Polyline about(Point centre, double radius, const std::vector<Point>& unit) {
  Polyline points;
  for (const Point& each : unit) points.push_back({centre.x + radius * each.x, centre.y + radius * each.y});
  return points;
}

Line straight(Point from, Point to, const Stroke& stroke) { return Line{{from, to}, stroke}; }

}  // namespace

double Plot::at_x(double value) const { return place(value, x, box.left, box.right()); }
double Plot::at_y(double value) const { return place(value, y, box.bottom(), box.top); }

std::vector<double> round_values(const Range& range, int about) {
  std::vector<double> values;
  const double step = round_step(range, about);
  const double first = std::ceil(range.low / step - 1e-9);
  for (double i = first; i * step <= range.high + 1e-9 * step && values.size() < 64; i += 1.0) {
    values.push_back(i == 0.0 ? 0.0 : i * step);
  }
  return values;
}

Range rounded_range(const std::vector<double>& values, const Axis& axis) {
  constexpr double most = 1e12;  // no figure of a film comes near
  Range range{0.0, 1.0};
  bool any = false;
  for (const double value : values) {
    if (!std::isfinite(value) || std::abs(value) > most) continue;
    range = any ? Range{std::min(range.low, value), std::max(range.high, value)} : Range{value, value};
    any = true;
  }
  if (axis.from) range.low = *axis.from;
  if (axis.to) range.high = *axis.to;
  if (!(range.high - range.low > 1e-9 * std::max(1.0, std::abs(range.high)))) {
    const double pad = std::max(0.5, 0.1 * std::abs(range.high));
    range = {axis.from.value_or(range.low - pad), axis.to.value_or(range.low + pad)};
    if (!(range.high > range.low)) range.high = range.low + 1.0;
  }
  const double step = round_step(range, 5);
  if (!axis.from) range.low = std::floor(range.low / step + 1e-9) * step;
  if (!axis.to) range.high = std::ceil(range.high / step - 1e-9) * step;
  return range;
}

std::string axis_text(double value, const Axis& axis) {
  const double shown = axis.numbers == Axis::Numbers::percent ? 100.0 * value : value;
  if (std::abs(shown) >= 1e6) return shortest(shown);
  std::string text = fixed(shown, 6);
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text;
}

std::string figure_text(double value, const Axis& axis) {
  if (axis.numbers == Axis::Numbers::percent) return fixed(100.0 * value, axis.decimals);
  return std::abs(value) >= 1e9 && std::isfinite(value) ? shortest(value) : fixed(value, axis.decimals);
}

std::vector<Ticks> round_ticks(const Range& range, const Axis& axis, int about) {
  std::vector<Ticks> ticks;
  for (const double value : round_values(range, about)) ticks.push_back({value, axis_text(value, axis)});
  return ticks;
}

namespace {

constexpr double name_apart = 8.0;  ///< from the ticks' numbers, of an axis' name, pt

double widest_of(const std::vector<Ticks>& ticks) {
  double widest = 0.0;
  for (const Ticks& tick : ticks) widest = std::max(widest, text_width(tick.text, size_ticks));
  return widest;
}

}  // namespace

double room_of_y_axis(const std::vector<Ticks>& ticks) {
  return size_chart + name_apart + widest_of(ticks) + tick_length;
}

void add_x_axis(Layer& layer, const Plot& plot, const std::string& label, const std::vector<Ticks>& ticks,
                Grid grid) {
  const double y = plot.box.bottom();
  for (const Ticks& tick : ticks) {
    const double x = plot.at_x(tick.at);
    if (grid == Grid::drawn) layer.items.emplace_back(straight({x, plot.box.top}, {x, y}, {grid_grey, 0.6}));
    layer.items.emplace_back(straight({x, y}, {x, y + tick_length}, {ink, 0.8}));
    layer.items.emplace_back(
        Text{{x, y + tick_length + size_ticks}, tick.text, size_ticks, ink, Anchor::middle});
  }
  const double wide = plot.box.width + 60.0;
  layer.items.emplace_back(Text{{plot.box.centre().x, y + tick_length + size_ticks + 13.0},
                                fitted(clean(label), size_chart, wide),
                                size_chart,
                                ink,
                                Anchor::middle});
}

void add_y_axis(Layer& layer, const Plot& plot, const std::string& label, const std::vector<Ticks>& ticks,
                Grid grid) {
  const double x = plot.box.left;
  for (const Ticks& tick : ticks) {
    const double y = plot.at_y(tick.at);
    if (grid == Grid::drawn)
      layer.items.emplace_back(straight({x, y}, {plot.box.right(), y}, {grid_grey, 0.6}));
    layer.items.emplace_back(straight({x - tick_length, y}, {x, y}, {ink, 0.8}));
    layer.items.emplace_back(
        Text{{x - tick_length - 2.0, y + 0.36 * size_ticks}, tick.text, size_ticks, ink, Anchor::end});
  }
  Text name{{std::max(size_chart, x - tick_length - widest_of(ticks) - name_apart), plot.box.centre().y},
            fitted(clean(label), size_chart, plot.box.height + 20.0),
            size_chart,
            ink,
            Anchor::middle};
  name.turned_deg = -90.0;
  layer.items.emplace_back(name);
}

void add_outline(Layer& layer, const Box& box) {
  layer.items.emplace_back(Polygon{
      {{box.left, box.top}, {box.right(), box.top}, {box.right(), box.bottom()}, {box.left, box.bottom()}},
      std::nullopt,
      Stroke{ink, 0.8}});
}

Item mark(Shape shape, Point centre, double radius) {
  const Stroke edge{chart_ink, 1.1};
  switch (shape) {
    case Shape::disc:
      return Polygon{disc(centre, radius), chart_ink, edge};
    case Shape::ring:
      return Polygon{disc(centre, radius), white, edge};
    case Shape::square:
      return Polygon{about(centre, radius, {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}), chart_ink, edge};
    case Shape::triangle:
      return Polygon{about(centre, 1.25 * radius, {{0, -1.1}, {1, 0.8}, {-1, 0.8}}), chart_ink, edge};
    case Shape::diamond:
      return Polygon{about(centre, 1.3 * radius, {{0, -1}, {1, 0}, {0, 1}, {-1, 0}}), white, edge};
  }
  return Polygon{disc(centre, radius), white, edge};
}

std::vector<Item> placed_mark(Shape shape, const Plot& plot, double x, double y) {
  if (std::isnan(x) || std::isnan(y)) return {};
  const double cx = std::clamp(x, plot.x.low, plot.x.high);
  const double cy = std::clamp(y, plot.y.low, plot.y.high);
  const double right = x > cx ? 1.0 : x < cx ? -1.0 : 0.0;
  const double down = y > cy ? -1.0 : y < cy ? 1.0 : 0.0;
  const Point at = plot.at(cx, cy);
  if (right == 0.0 && down == 0.0) return {mark(shape, at)};
  // The mark keeps inside the plot, its arrowhead touches the edge.
  const Point inside{at.x - 9.0 * right, at.y - 9.0 * down};
  const Point across{-down * 2.6, right * 2.6};
  const Point foot{at.x - 4.5 * right, at.y - 4.5 * down};
  return {mark(shape, inside),
          Polygon{{at, {foot.x + across.x, foot.y + across.y}, {foot.x - across.x, foot.y - across.y}},
                  ink,
                  std::nullopt}};
}

double add_legend(Layer& layer, const std::vector<LegendEntry>& entries, Point top_left, double width) {
  const double row = line_height(size_ticks) + 2.0;
  double x = top_left.x;
  double y = top_left.y;
  for (const LegendEntry& entry : entries) {
    const double text_room = width - legend_sign_width - 5.0;
    const std::vector<std::string> lines = wrapped_to(clean(entry.text), size_ticks, text_room, text_room);
    double wide = 0.0;
    for (const std::string& line : lines) wide = std::max(wide, text_width(line, size_ticks));
    wide += legend_sign_width + 5.0;
    if (x > top_left.x && x + wide > top_left.x + width) {
      x = top_left.x;
      y += row;
    }
    add(layer.items, entry.sign({x + legend_sign_width / 2.0, y + 0.5 * row}));
    for (std::size_t i = 0; i < lines.size(); ++i) {
      if (i > 0) y += row - 2.0;
      layer.items.emplace_back(
          Text{{x + legend_sign_width + 5.0, y + 0.5 * row + 0.36 * size_ticks}, lines[i], size_ticks, ink});
    }
    x += wide + legend_gap;
  }
  return entries.empty() ? 0.0 : y + row - top_left.y;
}

LegendEntry line_entry(const Stroke& stroke, std::string text) {
  return {[stroke](Point middle) -> std::vector<Item> {
            return {straight({middle.x - 12.0, middle.y}, {middle.x + 12.0, middle.y}, stroke)};
          },
          std::move(text)};
}

LegendEntry mark_entry(Shape shape, std::string text) {
  return {[shape](Point middle) -> std::vector<Item> { return {mark(shape, middle)}; }, std::move(text)};
}

std::vector<Item> hatched(const Box& box) {
  std::vector<Item> items;
  const Stroke stroke{ink_soft, 0.6};
  constexpr double every = 4.0;
  for (double start = box.left - box.height; start < box.right(); start += every) {
    const double from = std::max(0.0, box.left - start);
    const double to = std::min(box.height, box.right() - start);
    if (to - from > 0.2)
      items.emplace_back(
          straight({start + from, box.bottom() - from}, {start + to, box.bottom() - to}, stroke));
  }
  items.emplace_back(Polygon{
      {{box.left, box.top}, {box.right(), box.top}, {box.right(), box.bottom()}, {box.left, box.bottom()}},
      std::nullopt,
      Stroke{ink_soft, 0.8, Dash::dotted}});
  return items;
}

Scene empty_chart(const std::string& title, const std::string& sentence) {
  Scene scene{chart_width, 46.0, clean(title), clean(sentence), {}};
  Layer layer{"nothing", std::nullopt, {}};
  const Box box{0.5, 0.5, chart_width - 1.0, 45.0};
  layer.items.emplace_back(Polygon{
      {{box.left, box.top}, {box.right(), box.top}, {box.right(), box.bottom()}, {box.left, box.bottom()}},
      std::nullopt,
      Stroke{ink_soft, 0.8, Dash::dashed}});
  layer.items.emplace_back(Text{{box.centre().x, box.centre().y + 0.36 * size_chart},
                                fitted(clean(sentence), size_chart, box.width - 10.0),
                                size_chart,
                                ink,
                                Anchor::middle});
  scene.layers.push_back(std::move(layer));
  return scene;
}

}  // namespace canalrule::report
