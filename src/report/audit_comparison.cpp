#include "audit_sections.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto figure = Column::Holds::figure;

/// "−3.2 to 1.4 (−9.8 to 8.0)": the change from its lowest to its highest, and the interval about both.
std::string change_text(const ShareChange& change) {
  const statistics::Estimate& low = change.lowest;
  const statistics::Estimate& high = change.highest;
  if (!low.value || !high.value) return low.reason.empty() ? std::string(unknown) : low.reason;
  const auto signed_points = [](double share) {
    const std::string text = fixed(100.0 * share, 1);
    return share > 0.0 && text != "0.0" ? "+" + text : text;
  };
  const std::string first = signed_points(*low.value);
  const std::string last = signed_points(*high.value);
  std::string out = first == last ? first : first + " to " + last;
  if (low.interval && high.interval)
    out += " (" + signed_points(low.interval->low) + " to " + signed_points(high.interval->high) + ")";
  return out;
}

std::vector<Words> change_row(const std::string& name, const ShareChange& change) {
  return {name,
          std::to_string(change.earlier.assessable()),
          share_percent(change.earlier),
          std::to_string(change.now.assessable()),
          share_percent(change.now),
          change_text(change)};
}

Table change_table(const std::string& caption, const std::string& what) {
  return {caption,
          {{what},
           {"Canals earlier", figure},
           {"Share within earlier, %", figure},
           {"Canals now", figure},
           {"Share within now, %", figure},
           {"Change in percentage points (interval)", figure}},
          {},
          "Nothing stands in both audits."};
}

}  // namespace

Section comparison_section(const Comparison& comparison, const AuditHead& head) {
  Section section{"compared", "Compared with the earlier audit"};
  if (!comparison.caution.empty())
    section.blocks.emplace_back(Paragraph{comparison.caution, Paragraph::Kind::caution});
  Facts facts;
  facts.facts = {{"Earlier audit", std::to_string(comparison.earlier_counts.cases) + " cases, " +
                                       std::to_string(comparison.earlier_counts.measured) + " measured; by " +
                                       comparison.earlier_head.program},
                 {"Rule", comparison.judged_anew
                              ? "the earlier audit's figures were judged anew by the criteria of this one"
                              : "the same criteria in both"}};
  section.blocks.emplace_back(std::move(facts));
  Table overall = change_table("Change of each share", "Criterion");
  for (std::size_t i = 0; i < head.criteria.criteria.size() && i < comparison.overall.criteria.size(); ++i)
    overall.rows.push_back(change_row(head.criteria.criteria[i].text, comparison.overall.criteria[i]));
  overall.rows.push_back(change_row("All criteria together", comparison.overall.together));
  section.blocks.emplace_back(std::move(overall));
  Table teeth = change_table("All criteria together, by tooth group", "Tooth group");
  for (const GroupChange& each : comparison.tooth_groups)
    teeth.rows.push_back(change_row(group_name(each.name, each.enough), each.together));
  section.blocks.emplace_back(std::move(teeth));
  section.blocks.emplace_back(Paragraph{
      "Change: now minus earlier, what is too close to call counted once against and once for the change; "
      "Newcombe's hybrid score interval (1998), the two audits taken as independent. * one of the audits "
      "has too few cases for a comparison.",
      Paragraph::Kind::small});
  return section;
}

}  // namespace canalrule::report
