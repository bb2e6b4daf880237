#include <algorithm>
#include <cmath>

#include "audit_sections.hpp"
#include "chart_frame.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

/// One figure where both ends print alike.
std::string from_to(const std::string& low, const std::string& high) {
  return low == high ? low : low + " to " + high;
}

std::optional<Range> interval_of(const CriterionShare& share) {
  const auto& low = share.lowest.share.interval;
  const auto& high = share.highest.share.interval;
  if (!low || !high) return std::nullopt;
  return Range{low->low, high->high};
}

}  // namespace

std::string share_percent(const CriterionShare& share) {
  if (!share.lowest.share.value || !share.highest.share.value) return std::string(unknown);
  return from_to(fixed(100.0 * *share.lowest.share.value, 1), fixed(100.0 * *share.highest.share.value, 1));
}

std::string interval_percent(const CriterionShare& share) {
  const std::optional<Range> interval = interval_of(share);
  if (!interval) return std::string(unknown);
  return fixed(100.0 * interval->low, 1) + " to " + fixed(100.0 * interval->high, 1);
}

SharesChart::Share chart_share(const std::string& label, const CriterionShare& share) {
  return {label, static_cast<double>(share.assessable()), share.lowest.share.value.value_or(0.0),
          share.highest.share.value.value_or(0.0), interval_of(share)};
}

std::string level_percent(double level) {
  return axis_text(level, {"", Axis::Numbers::percent, 0, {}, {}}) + " %";
}

std::string interval_name(double level) { return level_percent(level) + " interval"; }

std::string group_name(const std::string& name) { return name.empty() ? "not said" : name; }

std::string group_name(const std::string& name, bool enough) {
  return group_name(name) + (enough ? "" : " *");
}

std::string estimate_text(const statistics::Estimate& estimate, int decimals, double factor) {
  if (!estimate.value) return estimate.reason.empty() ? std::string(unknown) : clean(estimate.reason);
  std::string out = fixed(factor * *estimate.value, decimals);
  if (estimate.interval)
    out += " (" + fixed(factor * estimate.interval->low, decimals) + " to " +
           fixed(factor * estimate.interval->high, decimals) + ")";
  return out;
}

int decimals_of(const std::string& unit) { return unit == "mm" ? 2 : 3; }

int decimals_of_spread(const std::string& unit, const std::optional<double>& standard_deviation) {
  const int usual = decimals_of(unit);
  if (!standard_deviation || !(*standard_deviation > 0.0)) return usual;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(*standard_deviation))), usual, usual + 1);
}

Table reasons_table(const std::string& caption, const std::string& counted,
                    const std::vector<ReasonCount>& reasons, const std::string& when_empty) {
  Table table{caption, {{"Why (as first met)"}, {counted, Column::Holds::figure}}, {}, when_empty};
  for (const ReasonCount& each : reasons)
    table.rows.push_back({each.text.empty() ? each.reason : each.text, std::to_string(each.count)});
  return table;
}

}  // namespace canalrule::report
