#include "audit_results.hpp"

#include <canalrule/audit/audit_folder.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/report/audit_page.hpp>
#include <algorithm>
#include <set>
#include <string>
#include <system_error>
#include <vector>

namespace canalrule::command {

namespace fs = std::filesystem;

std::string in_a_row(const std::vector<std::string>& columns) {
  std::string text;
  for (const std::string& column : columns) text += (text.empty() ? "" : ", ") + column;
  return text;
}

void check_columns(const std::vector<std::string>& kept, const SummaryOptions& options) {
  for (const std::string& column : options.group_by) {
    if (std::find(kept.begin(), kept.end(), column) != kept.end()) continue;
    throw Refusal(RefusalKind::wrong_use, "audit", "--group-by", "'" + column + "' is no further column that is kept",
                  "tooth group, operator and reader are always grouped by; " +
                      (kept.empty() ? "the list has no others" : "others are " + in_a_row(kept)));
  }
}

namespace {

/// An earlier audit under the rule of this one.
Comparison compared(const AuditSummary& now, const fs::path& earlier_folder) {
  const AuditFolder earlier(earlier_folder);
  if (earlier.part().of != 1)
    throw Refusal(RefusalKind::unusable_input, earlier_folder.string(), "", "this is one part of an audit",
                  "join its parts, and compare with what comes of it");
  return compare(now, earlier.head(), earlier.rows());
}

/// Pages of cases that an earlier run with more cases has left.
void remove_other_pages(const fs::path& folder, const std::set<std::string>& pages) {
  std::error_code error;
  std::vector<fs::path> stale;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    if (name.starts_with("cases-") && name.ends_with(".html") && !pages.contains(name))
      stale.push_back(entry->path());
  }
  for (const fs::path& page : stale) fs::remove(page, error);
}

}  // namespace

std::size_t write_audit_results(const fs::path& folder, const SummaryOptions& options,
                                const std::optional<fs::path>& against) {
  const AuditFolder audit(folder);
  check_columns(audit.head().columns, options);
  const AuditSummary summary = summarise(audit.head(), audit.rows(), options);
  std::optional<Comparison> comparison;
  if (against) comparison = compared(summary, *against);
  write_tables(audit);
  write_whole(folder / "summary.json", write_summary(summary, comparison));
  std::set<std::string> pages;
  audit_pages(summary, comparison, audit.rows(), [&](const AuditPage& page) {
    write_whole(folder / page.file, page.html);
    pages.insert(page.file);
  });
  remove_other_pages(folder, pages);
  return summary.counts.failed;
}

}  // namespace canalrule::command
