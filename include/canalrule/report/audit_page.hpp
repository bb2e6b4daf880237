#pragma once

#include <canalrule/audit/summary.hpp>
#include <functional>
#include <optional>
#include <string>

namespace canalrule {

/// One page of an audit; its links lead to the others, and to the cases' pictures, by names relative to the
/// audit's folder.
struct AuditPage {
  std::string file;  ///< "report.html", "cases-0001.html"
  std::string html;
};

/// The pages of an audit, one after the other, so that a long list of cases need not fit into memory: first
/// `report.html`, which holds everything and lists the cases itself where there are at most
/// `most_cases_on_a_page`; where there are more, it links to a page for each further so many. Each page
/// refers to nothing outside itself but the links to pictures. Same audit, same bytes.
void audit_pages(const AuditSummary& summary, const std::optional<Comparison>& against, const RowSource& rows,
                 const std::function<void(const AuditPage&)>& take);

/// Chosen here: a page of so many rows opens at once in a browser and prints on some 60 sheets.
inline constexpr std::size_t most_cases_on_a_page = 1000;

}  // namespace canalrule
