#include <algorithm>
#include <canalrule/report/audit_page.hpp>
#include <cstdio>

#include "audit_sections.hpp"
#include "plain_text.hpp"

namespace canalrule {
namespace {

using namespace report;

const char* const title = "Audit of root canal fillings";

std::string page_name(std::size_t number) {
  char name[32];
  std::snprintf(name, sizeof name, "cases-%04zu.html", number);
  return name;
}

std::vector<std::string> foot(const AuditHead& head) {
  return {head.program + " · OpenCV " + head.opencv + " · criteria: " + head.criteria.name + ", version " +
          head.criteria.version + " · list " + head.list_mark};
}

std::string range_caption(std::size_t first, std::size_t last) {
  return "Cases " + std::to_string(first) + " to " + std::to_string(last) + " of the list";
}

Section cases_intro(const AuditHead& head) {
  Section section{"cases", "The cases"};
  std::vector<Words> names;
  for (const Criterion& each : head.criteria.criteria) names.emplace_back(each.id + ": " + each.text);
  section.blocks.emplace_back(Paragraph{
      "One row a canal. ± is the expanded uncertainty, k = 2 (about 95 %). In the last column but one "
      "criteria go by their short names:"});
  section.blocks.emplace_back(Bullets{std::move(names)});
  return section;
}

void add_rows(Table& table, const AuditHead& head, const CaseRow& row) {
  for (std::vector<Words>& each : case_rows(head, row)) table.rows.push_back(std::move(each));
}

/// All cases in one table, or links to the pages that hold them.
Section cases_section(const AuditHead& head, const RowSource& rows) {
  Section section = cases_intro(head);
  if (head.cases <= most_cases_on_a_page) {
    Table table = case_table("Every case");
    rows([&](const CaseRow& row) { add_rows(table, head, row); });
    section.blocks.emplace_back(std::move(table));
    return section;
  }
  std::vector<Words> links;
  for (std::size_t first = 0; first < head.cases; first += most_cases_on_a_page) {
    const std::size_t last = std::min(head.cases, first + most_cases_on_a_page);
    links.emplace_back(Phrase{range_caption(first + 1, last), Phrase::Style::plain,
                              page_name(first / most_cases_on_a_page + 1)});
  }
  section.blocks.emplace_back(Bullets{std::move(links)});
  return section;
}

/// The pages of a long list, each made and given away before the next is begun.
void case_pages(const AuditHead& head, const RowSource& rows,
                const std::function<void(const AuditPage&)>& take) {
  std::size_t page = 0;
  std::size_t first = 1;
  std::size_t on_page = 0;
  Table table;
  const auto give = [&] {
    if (on_page == 0) return;
    table.caption = range_caption(first, first + on_page - 1);
    Document document;
    document.title = title;
    document.lead = std::vector<Phrase>{Phrase{table.caption + " · "},
                                        Phrase{"back to the report", Phrase::Style::plain, "report.html"}};
    document.contents = Document::Contents::left_out;
    document.foot = foot(head);
    Section section = cases_intro(head);
    section.blocks.emplace_back(std::move(table));
    document.sections = {std::move(section)};
    take({page_name(++page), html_document(document)});
    first += on_page;
    on_page = 0;
  };
  rows([&](const CaseRow& row) {
    if (on_page == 0) table = case_table("");
    add_rows(table, head, row);
    if (++on_page == most_cases_on_a_page) give();
  });
  give();
}

}  // namespace

void audit_pages(const AuditSummary& summary, const std::optional<Comparison>& against, const RowSource& rows,
                 const std::function<void(const AuditPage&)>& take) {
  const AuditHead& head = summary.head;
  const Counts& counts = summary.counts;
  Document document;
  document.title = title;
  document.lead = std::to_string(counts.cases) + " cases, of which " + std::to_string(counts.failed) +
                  " could not be measured; " + std::to_string(counts.canals) + " canals on " +
                  std::to_string(counts.films) + " films, judged by “" + head.criteria.name + "”, version " +
                  head.criteria.version + ".";
  document.sections = {audited_section(summary),   cautions_section(summary), counts_section(summary),
                       shares_section(summary),    grouping_section(summary), figures_section(summary),
                       operators_section(summary), agreement_section(summary)};
  if (against) document.sections.push_back(comparison_section(*against, head));
  document.sections.push_back(cases_section(head, rows));
  document.foot = foot(head);
  take({"report.html", html_document(document)});
  if (head.cases > most_cases_on_a_page) case_pages(head, rows, take);
}

}  // namespace canalrule
