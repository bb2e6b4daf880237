#include <algorithm>

#include "audit_sections.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto figure = Column::Holds::figure;
constexpr const char* share_label = "Share within, %";

std::vector<Words> share_row(const std::string& name, const CriterionShare& share) {
  return {name,
          std::to_string(share.within),
          std::to_string(share.outside),
          std::to_string(share.too_close_to_call),
          std::to_string(share.not_assessable),
          share_percent(share),
          interval_percent(share)};
}

Table verdict_table(const std::string& caption, const std::string& what, double level) {
  return {caption,
          {{what},
           {"Within", figure},
           {"Outside", figure},
           {"Too close to call", figure},
           {"Not assessable", figure},
           {share_label, figure},
           {interval_name(level) + ", %", figure}},
          {},
          "No canal."};
}

std::string design_words(const statistics::DesignEffect& design) {
  const std::string clusters = std::to_string(design.clusters) + " patients or films";
  switch (design.method) {
    case statistics::DesignEffect::Method::none:
      return "nothing was counted";
    case statistics::DesignEffect::Method::independent:
      return "1: each of " + clusters + " has one canal";
    case statistics::DesignEffect::Method::ratio_estimator:
      return fixed(design.value, 2) + ", estimated from " + clusters;
    case statistics::DesignEffect::Method::not_below_one:
      return "1, from " + clusters + "; the estimate lay below 1";
    case statistics::DesignEffect::Method::most_cautious:
      return fixed(design.value, 2) + ", the most cautious: it can't be estimated from " + clusters;
  }
  return {};
}

SharesChart shares_chart(const AuditSummary& summary) {
  SharesChart chart;
  chart.title = "Canals within, by criterion and by all together";
  chart.label = share_label;
  chart.confidence = interval_name(summary.options.level);
  chart.when_empty = "No canal could be assessed.";
  const std::vector<Criterion>& criteria = summary.head.criteria.criteria;
  for (std::size_t i = 0; i < criteria.size() && i < summary.overall.criteria.size(); ++i)
    chart.shares.push_back(chart_share(criteria[i].text, summary.overall.criteria[i]));
  chart.shares.push_back(chart_share("All criteria together", summary.overall.together));
  return chart;
}

std::string grouping_words(const Grouping& grouping) {
  switch (grouping.by) {
    case Grouping::By::tooth_group:
      return "by tooth group (ISO 3950)";
    case Grouping::By::operated_by:
      return "by operator";
    case Grouping::By::read_by:
      return "by reader";
    case Grouping::By::column:
      return "by " + grouping.column;
  }
  return {};
}

/// One table for the counts of all criteria together, one with the shares criterion by criterion.
std::vector<Block> grouping_blocks(const AuditSummary& summary, const Grouping& grouping) {
  SharesChart chart;
  chart.title = "All criteria together, " + grouping_words(grouping);
  chart.label = share_label;
  chart.confidence = interval_name(summary.options.level);
  chart.when_empty = "No canal could be assessed.";
  Table cases{"Cases and canals, " + grouping_words(grouping),
              {{"Group"},
               {"Cases", figure},
               {"Not measured", figure},
               {"Canals", figure},
               {"Not assessable", figure},
               {"Too close to call", figure}},
              {},
              "No group."};
  Table each_criterion{"Each criterion, share within in % (" + interval_name(summary.options.level) +
                           "): " + grouping_words(grouping),
                       {{"Group"}},
                       {},
                       "No group."};
  for (const Criterion& criterion : summary.head.criteria.criteria)
    each_criterion.columns.push_back({criterion.text, figure});
  bool any_small = false;
  std::size_t large = 0;
  for (const Group& group : grouping.groups) {
    const std::string marked = group_name(group.name, group.enough);
    any_small = any_small || !group.enough;
    large += group.enough ? 1 : 0;
    chart.shares.push_back(chart_share(marked, group.together));
    cases.rows.push_back({marked, std::to_string(group.cases), std::to_string(group.failed),
                          std::to_string(group.together.canals()),
                          std::to_string(group.together.not_assessable),
                          std::to_string(group.together.too_close_to_call)});
    std::vector<Words> row{marked};
    for (std::size_t i = 0; i < summary.head.criteria.criteria.size(); ++i) {
      row.emplace_back(i < group.criteria.size() ? share_percent(group.criteria[i]) + " (" +
                                                       interval_percent(group.criteria[i]) + ")"
                                                 : std::string(unknown));
    }
    each_criterion.rows.push_back(std::move(row));
  }
  std::vector<Block> blocks{cases, Figure{chart, ""}, each_criterion};
  if (any_small)
    blocks.emplace_back(Paragraph{
        "* fewer than " + std::to_string(summary.options.least_cases) + " cases: not set against others.",
        Paragraph::Kind::small});
  std::vector<Words> differences;
  for (const ClearDifference& each : grouping.clear_differences) {
    differences.emplace_back(group_name(each.higher) + " above " + group_name(each.lower) + " by at least " +
                             estimate_text(each.least, 1, 100.0) + " percentage points");
  }
  if (differences.empty()) {
    blocks.emplace_back(Paragraph{
        large < 2 ? "Fewer than two groups have enough cases to be set against each other."
                  : "No two groups differ clearly: the intervals of all that have enough cases overlap."});
  } else {
    blocks.emplace_back(Paragraph{"Groups whose intervals don't overlap:"});
    blocks.emplace_back(Bullets{std::move(differences)});
    if (grouping.clear_differences_left_out > 0)
      blocks.emplace_back(
          Paragraph{"… and " + std::to_string(grouping.clear_differences_left_out) + " more pairs.",
                    Paragraph::Kind::small});
  }
  return blocks;
}

}  // namespace

Section shares_section(const AuditSummary& summary) {
  Section section{"shares", "How many canals meet the criteria"};
  section.blocks.emplace_back(Figure{shares_chart(summary), ""});
  Table table = verdict_table("Canals by verdict", "Criterion", summary.options.level);
  const std::vector<Criterion>& criteria = summary.head.criteria.criteria;
  for (std::size_t i = 0; i < criteria.size() && i < summary.overall.criteria.size(); ++i)
    table.rows.push_back(share_row(criteria[i].text, summary.overall.criteria[i]));
  table.rows.push_back(share_row("All criteria together", summary.overall.together));
  section.blocks.emplace_back(std::move(table));
  section.blocks.emplace_back(Paragraph{
      "Design effect of all criteria together: " + design_words(summary.overall.together.lowest.design) + ".",
      Paragraph::Kind::small});
  for (const ThirdShares& each : summary.thirds) {
    Table thirds = verdict_table("By third: " + each.text, "Third", summary.options.level);
    thirds.rows = {share_row("apical", each.apical), share_row("middle", each.middle),
                   share_row("coronal", each.coronal)};
    section.blocks.emplace_back(std::move(thirds));
  }
  return section;
}

Section grouping_section(const AuditSummary& summary) {
  Section section{"groups", "Where it differs"};
  if (summary.groupings.empty())
    section.blocks.emplace_back(Paragraph{"The list has nothing to group the cases by."});
  std::size_t number = 0;
  for (const Grouping& grouping : summary.groupings) {
    Section part{"group-" + std::to_string(++number), "B" + grouping_words(grouping).substr(1)};
    part.blocks = grouping_blocks(summary, grouping);
    section.parts.push_back(std::move(part));
  }
  return section;
}

}  // namespace canalrule::report
