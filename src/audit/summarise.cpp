#include <canalrule/audit/summary.hpp>

#include <algorithm>
#include <cmath>
#include <utility>

#include "figures.hpp"
#include "funnel.hpp"
#include "gathered.hpp"
#include "groupings.hpp"
#include "readings_agree.hpp"
#include "shares.hpp"
#include "voids_along.hpp"

namespace canalrule::audit {

namespace {

std::vector<ThirdShares> thirds_of(const Gathered& gathered, const Selection& selection,
                                   const AuditHead& head, double level) {
  std::vector<ThirdShares> thirds;
  for (std::size_t i = 0; i < gathered.thirds.size(); ++i) {
    const Criterion& criterion = head.criteria.criteria[gathered.thirds[i].criterion];
    thirds.push_back({criterion.id, criterion.text, third_share_of(gathered, selection, i, 0, level),
                      third_share_of(gathered, selection, i, 1, level),
                      third_share_of(gathered, selection, i, 2, level)});
  }
  return thirds;
}

std::vector<Limit> limits_on(const Criteria& criteria, CriterionFigure figure) {
  std::vector<Limit> limits;
  for (const Criterion& criterion : criteria.criteria) {
    if (criterion.figure != figure) continue;
    if (criterion.lower) limits.push_back(*criterion.lower);
    if (criterion.upper) limits.push_back(*criterion.upper);
  }
  std::stable_sort(limits.begin(), limits.end(),
                   [](const Limit& a, const Limit& b) { return a.value < b.value; });
  return limits;
}

/// Figures that no canal has (those against a plan, where none was made) are left out.
std::vector<FigureSpread> spreads_of(const Gathered& gathered, const Selection& selection,
                                     const AuditHead& head, double level) {
  std::vector<FigureSpread> spreads;
  for (std::size_t i = 0; i < figures().size(); ++i) {
    const Figure& figure = figures()[i];
    std::vector<double> values;
    double squares = 0.0;
    for (const std::size_t place : selection) {
      const std::optional<Quantity>& found = gathered.canals[place].figures[i];
      if (!found) continue;
      values.push_back(found->value);
      squares += found->standard_uncertainty * found->standard_uncertainty;
    }
    if (values.empty()) continue;
    FigureSpread spread;
    spread.figure = figure.name;
    spread.title = figure.title;
    spread.unit = figure.unit;
    spread.values = statistics::distribution_of(values, level);
    spread.histogram = statistics::histogram(values, figure.first, figure.width, figure.bins);
    spread.missing = selection.size() - values.size();
    spread.mean_standard_uncertainty = std::sqrt(squares / static_cast<double>(values.size()));
    spread.limits = limits_on(head.criteria, figure.figure);
    spreads.push_back(std::move(spread));
  }
  return spreads;
}

}  // namespace

}  // namespace canalrule::audit

namespace canalrule {

AuditSummary summarise(const AuditHead& head, const RowSource& rows, const SummaryOptions& options) {
  using namespace audit;
  const Gathered gathered = gather(head, rows);
  const Selection selection = first_readings(gathered);
  AuditSummary summary;
  summary.head = head;
  summary.options = options;
  summary.counts = gathered.counts;
  summary.overall = group_of(gathered, selection, "", options);
  summary.overall.failed = gathered.failed.size();
  Grouped grouped = groupings_of(gathered, head, options);
  summary.groupings = std::move(grouped.groupings);
  summary.columns_left_out = std::move(grouped.columns_left_out);
  summary.thirds = thirds_of(gathered, selection, head, options.level);
  summary.figures = spreads_of(gathered, selection, head, options.level);
  summary.voids = voids_along(gathered, selection, options.level);
  summary.funnel = funnel_of(gathered, selection, options);
  summary.agreement = agreement_of(gathered, head, options.level);
  return summary;
}

}  // namespace canalrule
