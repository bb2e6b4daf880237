#include "audit_sections.hpp"
#include "plain_text.hpp"

namespace canalrule::report {
namespace {

constexpr auto figure = Column::Holds::figure;

std::string count(std::size_t number) { return std::to_string(number); }

Table counts_table(const Counts& counts) {
  Table table{"What was counted", {{"What"}, {"Number", figure}}, {}, ""};
  table.rows = {{"Cases in the list", count(counts.cases)},
                {"Cases that could not be measured", count(counts.failed)},
                {"Cases measured", count(counts.measured)},
                {"Different films", count(counts.films)},
                {"Cases whose film and tooth had been read before", count(counts.read_again)},
                {"Canals, each film's canal once: what every share is of", count(counts.canals)},
                {"Canals assessable by every criterion", count(counts.canals_fully_assessable)},
                {"Canals read again: for the agreement only", count(counts.canals_read_again)}};
  if (counts.films_of_several_teeth > 0)
    table.rows.push_back({"Films read under more than one tooth number and counted for each: look whether it is right",
                          count(counts.films_of_several_teeth)});
  if (counts.same_reading_again > 0)
    table.rows.push_back(
        {"Readings that were the same to the last byte, passed over", count(counts.same_reading_again)});
  if (counts.patients > 0) {
    table.rows.push_back({"Patients", count(counts.patients)});
    table.rows.push_back({"Cases without a patient's pseudonym", count(counts.cases_without_patient)});
  }
  return table;
}

/// For each criterion, how many canals could not be judged by it, and why.
Table not_assessable_table(const AuditSummary& summary) {
  Table table{"Canals not assessable, by criterion",
              {{"Criterion"}, {"Canals", figure}, {"Not assessable", figure}, {"Why (each as first met)"}},
              {},
              "No criterion."};
  const auto add = [&](const std::string& name, const CriterionShare& share) {
    std::vector<std::string> reasons;
    for (const ReasonCount& each : share.not_assessable_for)
      reasons.push_back(count(each.count) + ": " + (each.text.empty() ? each.reason : each.text));
    table.rows.push_back({name, count(share.canals()), count(share.not_assessable), joined(reasons, " · ")});
  };
  const std::vector<Criterion>& criteria = summary.head.criteria.criteria;
  for (std::size_t i = 0; i < criteria.size() && i < summary.overall.criteria.size(); ++i)
    add(criteria[i].text, summary.overall.criteria[i]);
  return table;
}

}  // namespace

Section counts_section(const AuditSummary& summary) {
  const Counts& counts = summary.counts;
  Section section{"counted", "What could be assessed, and what could not"};
  section.blocks.emplace_back(counts_table(counts));
  section.blocks.emplace_back(reasons_table("Cases that could not be measured, and why", "Cases",
                                            counts.failed_for, "None: all were measured."));
  if (counts.failed_for_left_out > 0)
    section.blocks.emplace_back(Paragraph{"For other reasons: " + count(counts.failed_for_left_out) +
                                              " more; each says its own in the list of cases.",
                                          Paragraph::Kind::small});
  section.blocks.emplace_back(not_assessable_table(summary));
  section.blocks.emplace_back(
      reasons_table("Doubts that were noted", "Times", counts.warnings, "None was noted."));
  std::vector<Words> columns;
  for (const std::string& each : summary.head.columns_left_out)
    columns.emplace_back("Column “" + each +
                         "” was not kept, because its name says that it holds a patient or a file.");
  for (const ColumnLeftOut& each : summary.columns_left_out)
    columns.emplace_back("Column “" + each.column + "” is not grouped by: " + each.reason);
  if (!columns.empty()) section.blocks.emplace_back(Bullets{std::move(columns)});
  return section;
}

}  // namespace canalrule::report
