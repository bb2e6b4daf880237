#include <algorithm>

#include "audit_sections.hpp"
#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto figure = Column::Holds::figure;

std::string optional_figure(const std::optional<double>& value, int decimals) {
  return value ? fixed(*value, decimals) : std::string(unknown);
}

HistogramChart histogram_of(const FigureSpread& spread) {
  HistogramChart chart;
  chart.title = spread.title;
  chart.values = {spread.title + ", " + spread.unit, Axis::Numbers::plain, decimals_of(spread.unit), {}, {}};
  const statistics::Histogram& counted = spread.histogram;
  for (std::size_t i = 0; i < counted.counts.size(); ++i) {
    const double from = counted.first + counted.width * static_cast<double>(i);
    chart.bins.push_back(
        {from, counted.first + counted.width * static_cast<double>(i + 1), counted.counts[i]});
  }
  // Empty bins at the ends only push the others together.
  while (!chart.bins.empty() && chart.bins.back().count == 0) chart.bins.pop_back();
  const auto first = std::find_if(chart.bins.begin(), chart.bins.end(),
                                  [](const HistogramChart::Bin& bin) { return bin.count > 0; });
  chart.bins.erase(chart.bins.begin(), first);
  chart.below = counted.below;
  chart.above = counted.above;
  for (const Limit& limit : spread.limits)
    chart.references.push_back({limit.value, "edge " + axis_text(limit.value, {})});
  return chart;
}

Table spread_table(const std::vector<FigureSpread>& figures, double level) {
  Table table{"The measured figures over all canals",
              {{"Figure"},
               {"Canals", figure},
               {"Without it", figure},
               {"Mean (" + interval_name(level) + ")", figure},
               {"Standard deviation", figure},
               {"Lower quartile", figure},
               {"Median", figure},
               {"Upper quartile", figure},
               {"Least to most", figure},
               {"Standard uncertainty (root mean square)", figure}},
              {},
              "No figure was measured."};
  for (const FigureSpread& each : figures) {
    const statistics::Distribution& values = each.values;
    const int decimals = decimals_of(each.unit);
    table.rows.push_back(
        {each.title + ", " + each.unit, std::to_string(values.count), std::to_string(each.missing),
         values.count == 0 ? std::string(unknown) : estimate_text(values.mean, decimals),
         optional_figure(values.standard_deviation, decimals),
         optional_figure(values.lower_quartile, decimals), optional_figure(values.median, decimals),
         optional_figure(values.upper_quartile, decimals),
         optional_figure(values.least, decimals) + " to " + optional_figure(values.most, decimals),
         optional_figure(each.mean_standard_uncertainty, decimals + 1)});
  }
  return table;
}

Section voids_part(const VoidsAlong& voids) {
  Section part{"voids", "Voids along the canal"};
  PlacesChart chart;
  chart.title = "Canals with a void, by place";
  for (const VoidPlace& each : voids.places)
    chart.places.push_back({each.from_mm, each.to_mm, each.filled, each.with_void});
  part.blocks.emplace_back(
      Figure{chart, "“Seen” counts the canals whose fill reaches the middle of that millimetre and shows it."});
  const std::string counted =
      "Voids that count have a score of at least " + axis_text(voids.selection.least_score, {}) +
      " standard deviations and a length of at least " + axis_text(voids.selection.least_length_mm, {}) +
      " mm" + (voids.selected_by.empty() ? "." : ", as criterion “" + voids.selected_by + "” says.");
  part.blocks.emplace_back(Paragraph{counted, Paragraph::Kind::small});
  Table kinds{"Voids that count, by kind", {{"Kind"}, {"Voids", figure}}, {}, ""};
  kinds.rows = {{"All", std::to_string(voids.voids)},
                {"across the whole fill", std::to_string(voids.across)},
                {"inside the fill", std::to_string(voids.inside)},
                {"along a wall", std::to_string(voids.along_wall)},
                {"where the backfill was planned to start", std::to_string(voids.at_backfill)}};
  part.blocks.emplace_back(std::move(kinds));
  const statistics::Distribution& lengths = voids.lengths_mm;
  part.blocks.emplace_back(Paragraph{
      "Length of these voids: median " + optional_figure(lengths.median, 2) + " mm, quartiles " +
      optional_figure(lengths.lower_quartile, 2) + " and " + optional_figure(lengths.upper_quartile, 2) +
      " mm. Canals in which voids could not be assessed at all: " + std::to_string(voids.canals_unknown) +
      "."});
  return part;
}

}  // namespace

Section figures_section(const AuditSummary& summary) {
  Section section{"figures", "What was measured"};
  section.blocks.emplace_back(spread_table(summary.figures, summary.options.level));
  for (const FigureSpread& each : summary.figures)
    section.blocks.emplace_back(Figure{histogram_of(each), ""});
  section.parts.push_back(voids_part(summary.voids));
  return section;
}

Section operators_section(const AuditSummary& summary) {
  const canalrule::Funnel& funnel = summary.funnel;
  Section section{"operators", "Operators"};
  if (!funnel.reason.empty()) {
    section.blocks.emplace_back(Paragraph{funnel.reason});
    return section;
  }
  FunnelChart chart;
  chart.title = "Each operator against the share of all";
  chart.label = "Share within, %";
  chart.centre = {funnel.overall_lowest, funnel.overall_highest};
  chart.centre_label =
      funnel.overall_lowest < funnel.overall_highest ? "all together, lowest and highest" : "all together";
  for (const FunnelLine& each : funnel.lines) {
    chart.limits.push_back({static_cast<double>(each.effective_size),
                            {each.warning.low, each.warning.high},
                            {each.action.low, each.action.high}});
  }
  for (const FunnelPoint& each : funnel.points) {
    FunnelChart::Point point{group_name(each.name),
                             each.effective_size,
                             each.lowest,
                             each.highest,
                             {each.action.low, each.action.high}};
    using Place = FunnelChart::Point::Place;
    switch (each.place) {
      case FunnelPoint::Place::inside:
        point.place = Place::inside;
        break;
      case FunnelPoint::Place::below:
        point.place = Place::below;
        break;
      case FunnelPoint::Place::above:
        point.place = Place::above;
        break;
      case FunnelPoint::Place::too_few:
        point.place = Place::not_placed;
        break;
    }
    chart.points.push_back(std::move(point));
  }
  section.blocks.emplace_back(Figure{
      chart,
      "All criteria together. The number of canals is divided by the design effect, " +
          fixed(funnel.design_effect, 2) +
          ". Inside the limits chance alone may set an operator apart; beyond them there is a reason to look "
          "into, which may be the cases as well as the operator."});
  return section;
}

}  // namespace canalrule::report
