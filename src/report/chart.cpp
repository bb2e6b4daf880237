#include <canalrule/report/chart.hpp>
#include <cmath>

#include "chart_frame.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

using Row = std::vector<Words>;
constexpr auto figure = Column::Holds::figure;

const Axis percent{"", Axis::Numbers::percent, 1, {}, {}};

/// "12.3 to 45.6"
std::string range_text(const std::optional<Range>& range, const Axis& axis) {
  if (!range) return std::string(unknown);
  return figure_text(range->low, axis) + " to " + figure_text(range->high, axis);
}

/// One figure where both ends print alike.
std::string share_text(double lowest, double highest) {
  const std::string low = figure_text(lowest, percent);
  const std::string high = figure_text(highest, percent);
  return low == high ? low : low + " to " + high;
}

std::string count_text(double count) { return fixed(count, count == std::floor(count) ? 0 : 1); }

Table table_of(const HistogramChart& chart) {
  Table table{chart.title, {{chart.values.label}, {chart.counted, figure}}, {}, "No " + chart.counted + "."};
  const auto add = [&](const std::string& name, std::size_t count) {
    table.rows.push_back(Row{name, std::to_string(count)});
  };
  std::size_t all = chart.below + chart.above;
  for (const HistogramChart::Bin& bin : chart.bins) all += bin.count;
  if (all == 0 || chart.bins.empty()) return table;
  if (chart.below > 0) add("less than " + axis_text(chart.bins.front().from, chart.values), chart.below);
  for (const HistogramChart::Bin& bin : chart.bins)
    add(axis_text(bin.from, chart.values) + " to " + axis_text(bin.to, chart.values), bin.count);
  if (chart.above > 0) add(axis_text(chart.bins.back().to, chart.values) + " or more", chart.above);
  return table;
}

Table table_of(const SharesChart& chart) {
  Table table{chart.title,
              {{""}, {chart.counted, figure}, {chart.label, figure}, {chart.confidence + ", %", figure}},
              {},
              chart.when_empty};
  table.columns.front().heading = "What";
  for (const SharesChart::Share& each : chart.shares) {
    table.rows.push_back(
        Row{each.label, count_text(each.counted),
            each.counted > 0.0 ? share_text(each.lowest, each.highest) : std::string(unknown),
            range_text(each.interval, percent)});
  }
  return table;
}

std::string place_words(FunnelChart::Point::Place place) {
  switch (place) {
    case FunnelChart::Point::Place::inside:
      return "inside";
    case FunnelChart::Point::Place::below:
      return "below";
    case FunnelChart::Point::Place::above:
      return "above";
    case FunnelChart::Point::Place::not_placed:
      return "too few cases";
  }
  return {};
}

Table table_of(const FunnelChart& chart) {
  Table table{chart.title,
              {{"Who"},
               {chart.sized, figure},
               {chart.label, figure},
               {chart.outer_label + ", %", figure},
               {"Against the limits"}},
              {},
              "There is nobody to show."};
  for (const FunnelChart::Point& each : chart.points) {
    const bool placed = each.place != FunnelChart::Point::Place::not_placed;
    table.rows.push_back(Row{each.label, count_text(each.size), share_text(each.lowest, each.highest),
                             placed ? range_text(each.limits, percent) : std::string(unknown),
                             place_words(each.place)});
  }
  return table;
}

Table table_of(const DifferencesChart& chart) {
  Table table{chart.title,
              {{"Of " + std::to_string(chart.pairs.size()) + " pairs"},
               {chart.differences.label, figure},
               {chart.confidence, figure}},
              {},
              "No pairs of readings to show."};
  if (chart.pairs.empty()) return table;
  const Axis& axis = chart.differences;
  const auto add = [&](const char* name, double value, const std::optional<Range>& interval) {
    table.rows.push_back(Row{name, figure_text(value, axis), range_text(interval, axis)});
  };
  add("Upper limit of agreement", chart.upper_limit, chart.upper_interval);
  add("Mean difference", chart.mean_difference, chart.mean_interval);
  add("Lower limit of agreement", chart.lower_limit, chart.lower_interval);
  return table;
}

Table table_of(const PlacesChart& chart) {
  Table table{
      chart.title,
      {{"mm from the apex"}, {chart.counted + " seen", figure}, {chart.found, figure}, {"Share, %", figure}},
      {},
      "No " + chart.counted + "."};
  for (auto each = chart.places.rbegin(); each != chart.places.rend(); ++each) {
    const double share =
        each->seen == 0 ? NAN : static_cast<double>(each->found) / static_cast<double>(each->seen);
    table.rows.push_back(Row{axis_text(each->from_mm, {}) + " to " + axis_text(each->to_mm, {}),
                             std::to_string(each->seen), std::to_string(each->found),
                             figure_text(share, percent)});
  }
  return table;
}

Table table_of(const CourseChart& chart) {
  Table table{chart.title, {{"When"}}, {}, "No figures over time to show."};
  if (chart.series.empty()) return table;
  for (const CourseChart::Series& series : chart.series) {
    const std::string of = chart.series.size() > 1 ? series.name + ": " : "";
    table.columns.push_back({of + chart.counted, figure});
    table.columns.push_back({of + chart.values.label, figure});
    table.columns.push_back({of + chart.confidence, figure});
  }
  for (std::size_t i = 0; i < chart.series.front().moments.size(); ++i) {
    Row row{chart.series.front().moments[i].when};
    for (const CourseChart::Series& series : chart.series) {
      const CourseChart::Moment moment =
          i < series.moments.size() ? series.moments[i] : CourseChart::Moment{};
      row.emplace_back(count_text(moment.counted));
      row.emplace_back(moment.value ? figure_text(*moment.value, chart.values) : std::string(unknown));
      row.emplace_back(range_text(moment.interval, chart.values));
    }
    table.rows.push_back(std::move(row));
  }
  return table;
}

}  // namespace

Scene chart_scene(const Chart& chart) {
  return std::visit([](const auto& each) { return draw(each); }, chart);
}

Table chart_table(const Chart& chart) {
  return std::visit([](const auto& each) { return table_of(each); }, chart);
}

}  // namespace canalrule::report
