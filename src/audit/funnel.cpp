#include "funnel.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>

namespace canalrule::audit {

namespace {

// Two and three standard deviations of a normal distribution (Spiegelhalter 2005).
constexpr double warning_level = 0.95;
constexpr double action_level = 0.998;
constexpr std::size_t line_steps = 40;  // chosen here: a smooth line on a page's width

struct Operator {
  Selection canals;  ///< assessable
  std::set<std::uint32_t> readings;
  std::size_t within = 0, too_close = 0;
};

/// Low ends about the lowest overall share, high ends about the highest.
statistics::Interval limits(const Funnel& funnel, std::size_t size, double level) {
  return {statistics::funnel_limits(funnel.overall_lowest, size, level).low,
          statistics::funnel_limits(funnel.overall_highest, size, level).high};
}

std::size_t whole_size(double effective_size) {
  return std::max(std::size_t{1}, static_cast<std::size_t>(effective_size));
}

FunnelPoint point_of(const Funnel& funnel, const std::string& name, const Operator& one,
                     const SummaryOptions& options) {
  FunnelPoint point;
  point.name = name;
  point.cases = one.readings.size();
  point.canals = one.canals.size();
  const double canals = static_cast<double>(point.canals);
  point.lowest = static_cast<double>(one.within) / canals;
  point.highest = static_cast<double>(one.within + one.too_close) / canals;
  point.effective_size = canals / funnel.design_effect;
  const std::size_t size = whole_size(point.effective_size);
  point.warning = limits(funnel, size, warning_level);
  point.action = limits(funnel, size, action_level);
  if (point.cases < options.least_cases)
    point.place = FunnelPoint::Place::too_few;
  else if (point.highest < point.action.low)
    point.place = FunnelPoint::Place::below;
  else if (point.lowest > point.action.high)
    point.place = FunnelPoint::Place::above;
  else
    point.place = FunnelPoint::Place::inside;
  return point;
}

double design_effect_within(const Gathered& gathered, const std::map<std::string, Operator>& operators,
                            std::size_t together, TooClose too_close) {
  std::vector<std::vector<statistics::Cluster>> groups;
  for (const auto& [name, one] : operators)
    groups.push_back(clusters_within(gathered, one.canals, together, too_close));
  return statistics::pooled_design_effect(groups).value;
}

std::vector<FunnelLine> lines_of(const Funnel& funnel) {
  double largest = 0.0;
  for (const FunnelPoint& point : funnel.points) largest = std::max(largest, point.effective_size);
  std::vector<FunnelLine> lines;
  for (std::size_t i = 0; i <= line_steps; ++i) {
    // Closer together where the limits bend most.
    const double along = static_cast<double>(i) / static_cast<double>(line_steps);
    const std::size_t size = whole_size(std::ceil(1.0 + along * along * 1.1 * largest));
    if (!lines.empty() && lines.back().effective_size == size) continue;
    lines.push_back({size, limits(funnel, size, warning_level), limits(funnel, size, action_level)});
  }
  return lines;
}

}  // namespace

Funnel funnel_of(const Gathered& gathered, const Selection& selection, const SummaryOptions& options) {
  const std::size_t together = gathered.criteria;
  std::map<std::string, Operator> operators;
  std::size_t all = 0, within = 0, too_close = 0;
  for (const std::size_t place : selection) {
    const CanalNote& note = gathered.canals[place];
    const std::string& name = gathered.people[gathered.readings[note.reading].belongs.operated_by];
    const Verdict verdict = note.verdicts[together];
    if (name.empty() || verdict == Verdict::not_assessable) continue;
    Operator& one = operators[name];
    one.canals.push_back(place);
    one.readings.insert(note.reading);
    one.within += verdict == Verdict::within ? 1 : 0;
    one.too_close += verdict == Verdict::too_close_to_call ? 1 : 0;
    ++all;
    within += verdict == Verdict::within ? 1 : 0;
    too_close += verdict == Verdict::too_close_to_call ? 1 : 0;
  }
  Funnel funnel;
  if (operators.size() < 2) {
    funnel.reason = "The list names fewer than two operators with assessable canals.";
    return funnel;
  }
  funnel.overall_lowest = static_cast<double>(within) / static_cast<double>(all);
  funnel.overall_highest = static_cast<double>(within + too_close) / static_cast<double>(all);
  funnel.design_effect = std::max(design_effect_within(gathered, operators, together, TooClose::is_outside),
                                  design_effect_within(gathered, operators, together, TooClose::is_within));
  for (const auto& [name, one] : operators) funnel.points.push_back(point_of(funnel, name, one, options));
  funnel.lines = lines_of(funnel);
  return funnel;
}

}  // namespace canalrule::audit
