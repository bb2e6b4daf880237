#pragma once

#include <canalrule/audit/summary.hpp>
#include <canalrule/report/document.hpp>
#include <optional>
#include <string>
#include <vector>

/// The sections of an audit's page, in the order in which they stand there.
namespace canalrule::report {

Section audited_section(const AuditSummary& summary);
Section cautions_section(const AuditSummary& summary);
Section counts_section(const AuditSummary& summary);
Section shares_section(const AuditSummary& summary);
Section grouping_section(const AuditSummary& summary);
Section figures_section(const AuditSummary& summary);
Section operators_section(const AuditSummary& summary);
/// Where readers differ by more about the end of a fill than their readings state: how much, and what to do.
std::optional<std::string> readers_beyond_stated(const AuditSummary& summary);
Section agreement_section(const AuditSummary& summary);
Section comparison_section(const Comparison& comparison, const AuditHead& head);

/// The rows of the table of cases that one case gives: one a canal, or one that says why there is none.
std::vector<std::vector<Words>> case_rows(const AuditHead& head, const CaseRow& row);
Table case_table(const std::string& caption);

// What they share.

/// "12.3", "12.3 to 45.6": a share in percent, from its lowest to its highest; "–" where nothing was counted.
std::string share_percent(const CriterionShare& share);
/// Its interval, from the lowest's lower end to the highest's upper.
std::string interval_percent(const CriterionShare& share);
SharesChart::Share chart_share(const std::string& label, const CriterionShare& share);
/// "95 %", "99.8 %"
std::string level_percent(double level);
/// "95 % interval"
std::string interval_name(double level);
/// What a reader sees of a group that the list leaves without a name.
std::string group_name(const std::string& name);
/// With the asterisk that marks too few cases for a comparison.
std::string group_name(const std::string& name, bool enough);
/// An estimate with its interval in brackets, or why there is none. `factor` is 100 for percent.
std::string estimate_text(const statistics::Estimate& estimate, int decimals, double factor = 1.0);
/// Decimals of a figure in this unit that a film can bear.
int decimals_of(const std::string& unit);
/// At least so many, and as many as give a standard deviation of differences two significant digits.
int decimals_of_spread(const std::string& unit, const std::optional<double>& standard_deviation);
Table reasons_table(const std::string& caption, const std::string& counted,
                    const std::vector<ReasonCount>& reasons, const std::string& when_empty);

}  // namespace canalrule::report
