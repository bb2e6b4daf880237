#include <doctest/doctest.h>

#include <canalrule/report/chart.hpp>
#include <cmath>
#include <limits>
#include <set>
#include <string>

#include "../../../src/report/chart_frame.hpp"
#include "../../../src/report/look.hpp"
#include "sample_charts.hpp"

using namespace canalrule::report;

namespace {

struct Corners {
  double left = 1e300, top = 1e300, right = -1e300, bottom = -1e300;
  void take(double x, double y) {
    left = std::min(left, x);
    top = std::min(top, y);
    right = std::max(right, x);
    bottom = std::max(bottom, y);
  }
};

/// The corners of everything drawn, letters by their advance widths.
Corners corners_of(const Scene& scene) {
  Corners corners;
  for (const Layer& layer : scene.layers) {
    for (const Item& item : layer.items) {
      if (const auto* line = std::get_if<Line>(&item))
        for (const canalrule::Point& p : line->points) corners.take(p.x, p.y);
      if (const auto* polygon = std::get_if<Polygon>(&item))
        for (const canalrule::Point& p : polygon->points) corners.take(p.x, p.y);
      if (const auto* text = std::get_if<Text>(&item)) {
        const double wide = text_width(text->text, text->size);
        const double before = text->anchor == Anchor::start ? 0.0
                              : text->anchor == Anchor::end ? wide
                                                            : wide / 2.0;
        if (text->turned_deg == 0.0) {
          corners.take(text->at.x - before, text->at.y - 0.7 * text->size);
          corners.take(text->at.x - before + wide, text->at.y + 0.2 * text->size);
        } else {
          corners.take(text->at.x - 0.7 * text->size, text->at.y - wide + before);
          corners.take(text->at.x, text->at.y + before);
        }
      }
    }
  }
  return corners;
}

void check_inside(const Scene& scene) {
  const Corners corners = corners_of(scene);
  CAPTURE(scene.title);
  CHECK(std::isfinite(scene.height));
  CHECK(corners.left >= -0.01);
  CHECK(corners.top >= -0.01);
  CHECK(corners.right <= scene.width + 0.01);
  CHECK(corners.bottom <= scene.height + 0.01);
}

std::string words_of(const Scene& scene) {
  std::string words;
  for (const Layer& layer : scene.layers)
    for (const Item& item : layer.items)
      if (const auto* text = std::get_if<Text>(&item)) words += text->text + "\n";
  return words;
}

std::string words_of(const Table& table) {
  std::string words;
  for (const auto& row : table.rows)
    for (const Words& cell : row)
      for (const Phrase& phrase : cell.phrases) words += phrase.text + "|";
  return words;
}

const Layer& layer(const Scene& scene, const std::string& name) {
  for (const Layer& each : scene.layers)
    if (each.name == name) return each;
  FAIL("no layer " << name);
  return scene.layers.front();
}

template <class Kind>
std::size_t count(const Layer& layer) {
  std::size_t number = 0;
  for (const Item& item : layer.items) number += std::holds_alternative<Kind>(item) ? 1U : 0U;
  return number;
}

}  // namespace

TEST_CASE("a chart says what it is, and all of it lies on its paper") {
  for (const Chart& chart : sample::charts()) {
    const Scene scene = chart_scene(chart);
    CHECK(scene.width == chart_width);
    CHECK(!scene.title.empty());
    CHECK(!scene.description.empty());
    check_inside(scene);
    CHECK(chart_table(chart).caption == scene.title);
    CHECK(!chart_table(chart).rows.empty());
    for (const auto& row : chart_table(chart).rows) CHECK(row.size() == chart_table(chart).columns.size());
  }
}

TEST_CASE("a chart names its axes with their units") {
  const char* const expected[] = {"Short of the apex, mm\n",
                                  "Share within, %\n",
                                  "Effective number of canals\n",
                                  "A1 minus A2, mm\n",
                                  "Distance from the radiographic apex, mm\n",
                                  "Mark, %\n"};
  const std::vector<Chart> charts = sample::charts();
  for (std::size_t i = 0; i < charts.size(); ++i)
    CHECK(words_of(chart_scene(charts[i])).find(expected[i]) != std::string::npos);
}

TEST_CASE("a chart with nothing to show says so, and its table has no row") {
  for (const Chart& chart : sample::empty_charts()) {
    const Scene scene = chart_scene(chart);
    REQUIRE(scene.layers.size() == 1);
    CHECK(words_of(scene).find(scene.description) == 0);
    CHECK(scene.description.ends_with("."));
    CHECK(chart_table(chart).rows.empty());
    CHECK(!chart_table(chart).when_empty.empty());
    check_inside(scene);
  }
}

TEST_CASE("bars are as tall as their counts") {
  HistogramChart chart;
  chart.title = "three bars";
  chart.values.label = "mm";
  chart.bins = {{0.0, 1.0, 1}, {1.0, 2.0, 4}, {2.0, 3.0, 0}};
  const Scene scene = chart_scene(chart);
  const Layer& bars = layer(scene, "bars");
  REQUIRE(count<Polygon>(bars) == 2);  // an empty bin has none
  const auto height = [&](std::size_t i) {
    const auto& points = std::get<Polygon>(bars.items[i]).points;
    return points[0].y - points[1].y;
  };
  CHECK(height(1) == doctest::Approx(4.0 * height(0)));
  CHECK(words_of(chart_table(chart)) == "0 to 1|1|1 to 2|4|2 to 3|0|");
}

TEST_CASE("a share that is too close to call shows both its ends and the stretch between") {
  SharesChart chart;
  chart.title = "shares";
  chart.shares = {{"sure", 20, 0.4, 0.4, Range{0.2, 0.6}}, {"unsure", 20, 0.4, 0.5, Range{0.2, 0.7}}};
  const Layer shares = layer(chart_scene(chart), "shares");
  CHECK(count<Polygon>(shares) == 4);  // a disc; and a disc, a ring and the edge of the hatched stretch
  CHECK(words_of(chart_table(chart)) == "sure|20|40.0|20.0 to 60.0|unsure|20|40.0 to 50.0|20.0 to 70.0|");
  chart.shares.pop_back();
  CHECK(words_of(chart_scene(chart)).find("too close to call") == std::string::npos);
}

TEST_CASE("nothing counted is no share of 0") {
  SharesChart chart;
  chart.title = "shares";
  chart.shares = {{"nobody", 0, 0.0, 0.0, std::nullopt}};
  CHECK(count<Polygon>(layer(chart_scene(chart), "shares")) == 0);
  CHECK(words_of(chart_table(chart)) == "nobody|0|–|–|");
}

TEST_CASE("operators keep the order that they were given in") {
  const Chart chart = sample::charts()[2];
  const Table table = chart_table(chart);
  REQUIRE(table.rows.size() == 4);
  for (std::size_t i = 0; i < 4; ++i)
    CHECK(table.rows[i].front().phrases.front().text == "operator " + std::to_string(i + 1));
  CHECK(words_of(table).find("below|") != std::string::npos);
  CHECK(words_of(table).find("operator 4|6|100.0|–|too few cases|") != std::string::npos);
  CHECK(chart_scene(chart).description.find("Beyond the 99.8 % limits: operator 2 (below)") !=
        std::string::npos);
}

TEST_CASE("series differ by line style and by the shape of their marks") {
  CourseChart chart;
  chart.title = "four";
  for (const char* name : {"a", "b", "c", "d"})
    chart.series.push_back({name, {{"1", 1.0, std::nullopt, 1}, {"2", 2.0, std::nullopt, 1}}});
  std::set<Dash> dashes;
  std::set<std::size_t> corners;
  const Scene scene = chart_scene(chart);
  for (const Item& item : layer(scene, "series").items) {
    if (const auto* line = std::get_if<Line>(&item)) dashes.insert(line->stroke.dash);
    if (const auto* polygon = std::get_if<Polygon>(&item))
      corners.insert(polygon->points.size() * 2 + (polygon->fill->red == 255 ? 1U : 0U));
  }
  CHECK(dashes.size() == 4);
  CHECK(corners.size() == 4);
}

TEST_CASE("small differences: no figure is shortened, and the axis' name stands beside its numbers") {
  auto chart = std::get<DifferencesChart>(sample::charts()[3]);
  chart.pairs = {{0.054, 0.00026}, {0.062, -0.00009}};
  chart.mean_interval = chart.lower_interval = chart.upper_interval = std::nullopt;
  chart.means.from = chart.means.to = chart.differences.from = chart.differences.to = std::nullopt;
  chart.differences.decimals = 6;
  chart.upper_limit = 0.000288;
  chart.mean_difference = 0.000106;
  chart.lower_limit = -0.000076;
  const Scene scene = chart_scene(chart);
  check_inside(scene);
  std::set<std::string> names;
  for (const Item& item : layer(scene, "names").items)
    if (const auto* text = std::get_if<Text>(&item)) names.insert(text->text);
  for (const char* name : {"upper 0.000288", "mean 0.000106", "lower −0.000076"}) CHECK(names.contains(name));
  double name_at = 0.0, numbers_from = 1e9;
  for (const Item& item : layer(scene, "axes").items)
    if (const auto* text = std::get_if<Text>(&item)) {
      if (text->turned_deg != 0.0) name_at = text->at.x;
      if (text->anchor == Anchor::end)
        numbers_from = std::min(numbers_from, text->at.x - text_width(text->text, text->size));
    }
  CHECK(name_at < numbers_from);
}

TEST_CASE("extreme values stay inside the axes") {
  const double huge = 1e300;
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double infinite = std::numeric_limits<double>::infinity();
  SUBCASE("differences") {
    auto chart = std::get<DifferencesChart>(sample::charts()[3]);
    chart.means.from = -2.0;
    chart.means.to = 4.0;
    chart.differences.from = -0.5;
    chart.differences.to = 0.5;
    chart.pairs = {{huge, 0.1}, {-huge, 0.1}, {1.0, huge}, {1.0, -infinite}, {nan, 0.0}, {0.5, 0.0}};
    const Scene scene = chart_scene(chart);
    check_inside(scene);
    const Layer& points = layer(scene, "points");
    Corners corners;
    for (const Item& item : points.items)
      for (const canalrule::Point& p : std::get<Polygon>(item).points) corners.take(p.x, p.y);
    const Layer& axes = layer(scene, "axes");
    const auto& frame = std::get<Polygon>(axes.items.back()).points;
    CHECK(corners.left >= frame[0].x - 0.01);
    CHECK(corners.right <= frame[2].x + 0.01);
    CHECK(corners.top >= frame[0].y - 0.01);
    CHECK(corners.bottom <= frame[2].y + 0.01);
  }
  SUBCASE("without fixed axes") {
    auto chart = std::get<DifferencesChart>(sample::charts()[3]);
    chart.pairs = {{huge, huge}, {nan, nan}, {infinite, 1.0}, {1.0, 2.0}};
    chart.upper_limit = huge;
    check_inside(chart_scene(chart));
  }
  SUBCASE("histogram") {
    auto chart = std::get<HistogramChart>(sample::charts()[0]);
    chart.references = {{huge, "far"}, {-huge, "far below"}, {nan, "none"}};
    chart.bins.front().count = 4000000000U;
    check_inside(chart_scene(chart));
  }
  SUBCASE("shares and funnel") {
    auto shares = std::get<SharesChart>(sample::charts()[1]);
    shares.shares.push_back({"out", 5, -3.0, 7.0, Range{-huge, infinite}});
    shares.shares.push_back({"no number", 5, nan, nan, std::nullopt});
    check_inside(chart_scene(shares));
    auto funnel = std::get<FunnelChart>(sample::charts()[2]);
    funnel.points.push_back({"out", huge, -1.0, 2.0, {nan, nan}, FunnelChart::Point::Place::above});
    check_inside(chart_scene(funnel));
  }
  SUBCASE("course") {
    auto chart = std::get<CourseChart>(sample::charts()[5]);
    chart.series[0].moments[1].value = huge;
    chart.series[0].moments[1].interval = Range{-huge, infinite};
    check_inside(chart_scene(chart));
  }
}

TEST_CASE("long names and many rows stay on the paper") {
  auto shares = std::get<SharesChart>(sample::charts()[1]);
  for (int i = 0; i < 90; ++i)
    shares.shares.push_back(
        {"a name of a group that is much too long for its column, and longer " + std::to_string(i), 9, 0.5,
         0.5, Range{0.3, 0.7}});
  const Scene scene = chart_scene(shares);
  check_inside(scene);
  CHECK(words_of(scene).find("more in the table") != std::string::npos);
  CHECK(chart_table(shares).rows.size() == 94);
}

TEST_CASE(
    "the limits over a histogram are told apart however near they stand, and no line crosses their words") {
  auto chart = std::get<HistogramChart>(sample::charts()[0]);
  chart.references = {
      {0.0, "edge 0"}, {0.1, "edge 0.1"}, {0.5, "edge 0.5"}, {2.0, "edge 2"}, {4.0, "edge 4"}};
  const Scene scene = chart_scene(chart);
  check_inside(scene);
  std::vector<const Text*> labels;
  double lowest_label = 0.0, highest_line = scene.height;
  for (const Item& item : layer(scene, "references").items) {
    if (const auto* text = std::get_if<Text>(&item)) {
      labels.push_back(text);
      lowest_label = std::max(lowest_label, text->at.y);
    } else {
      for (const canalrule::Point& p : std::get<Line>(item).points)
        highest_line = std::min(highest_line, p.y);
    }
  }
  REQUIRE(labels.size() == 5);
  CHECK(highest_line > lowest_label);
  for (std::size_t i = 0; i < 5; ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const double apart = std::abs(labels[i]->at.x - labels[j]->at.x);
      const double wide = text_width(labels[i]->text, size_ticks) + text_width(labels[j]->text, size_ticks);
      CHECK((apart >= wide / 2.0 || std::abs(labels[i]->at.y - labels[j]->at.y) >= size_ticks));
    }
  CHECK_MESSAGE(labels[0]->at.y == labels[3]->at.y, "those with room share a row");
}

TEST_CASE("the same figures give the same picture") {
  for (const Chart& chart : sample::charts())
    CHECK(words_of(chart_scene(chart)) == words_of(chart_scene(chart)));
}
