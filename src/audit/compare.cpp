#include <canalrule/audit/summary.hpp>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <canalrule/base/fault.hpp>

#include "judged_rows.hpp"

namespace canalrule {

namespace {

/// The rows with verdicts by other criteria, made from their figures.
RowSource judged_anew(const RowSource& rows, const Criteria& criteria) {
  return [&rows, &criteria](const RowVisitor& visit) {
    rows([&](const CaseRow& row) {
      CaseRow anew = row;
      std::vector<CanalResult> canals;
      for (CanalRow& canal : anew.canals) canals.push_back(std::move(canal.figures));
      anew.canals = audit::judged_rows(std::move(canals), criteria);
      visit(anew);
    });
  };
}

ShareChange change_of(const CriterionShare& earlier, const CriterionShare& now) {
  return {earlier, now, statistics::difference_of_shares(now.lowest.share, earlier.highest.share),
          statistics::difference_of_shares(now.highest.share, earlier.lowest.share)};
}

GroupChange change_of(const Group& earlier, const Group& now) {
  ensure(earlier.criteria.size() == now.criteria.size(), "both audits are judged by the same criteria");
  GroupChange change;
  change.name = now.name;
  change.enough = earlier.enough && now.enough;
  for (std::size_t i = 0; i < now.criteria.size(); ++i)
    change.criteria.push_back(change_of(earlier.criteria[i], now.criteria[i]));
  change.together = change_of(earlier.together, now.together);
  return change;
}

const Grouping* by_tooth_group(const AuditSummary& summary) {
  for (const Grouping& grouping : summary.groupings)
    if (grouping.by == Grouping::By::tooth_group) return &grouping;
  return nullptr;
}

std::vector<GroupChange> tooth_group_changes(const AuditSummary& earlier, const AuditSummary& now) {
  std::vector<GroupChange> changes;
  const Grouping* before = by_tooth_group(earlier);
  const Grouping* after = by_tooth_group(now);
  if (before == nullptr || after == nullptr) return changes;
  for (const Group& group : after->groups) {
    const auto same = std::find_if(before->groups.begin(), before->groups.end(),
                                   [&](const Group& other) { return other.name == group.name; });
    if (same != before->groups.end()) changes.push_back(change_of(*same, group));
  }
  return changes;
}

std::string caution(const AuditHead& earlier, const AuditHead& now) {
  if (earlier.program == now.program && earlier.opencv == now.opencv) return "";
  return "The earlier audit was measured by " + earlier.program + " (OpenCV " + earlier.opencv +
         "), this one by " + now.program + " (OpenCV " + now.opencv +
         "): a change may come from the measuring alone.";
}

}  // namespace

Comparison compare(const AuditSummary& now, const AuditHead& earlier_head, const RowSource& earlier_rows) {
  Comparison comparison;
  comparison.earlier_head = earlier_head;
  comparison.judged_anew = earlier_head.criteria_sha256 != now.head.criteria_sha256;
  AuditHead judged_by = earlier_head;
  judged_by.criteria = now.head.criteria;
  SummaryOptions options = now.options;
  options.group_by.clear();
  const AuditSummary earlier = summarise(
      judged_by, comparison.judged_anew ? judged_anew(earlier_rows, now.head.criteria) : earlier_rows,
      options);
  comparison.earlier_counts = earlier.counts;
  comparison.caution = caution(earlier_head, now.head);
  comparison.overall = change_of(earlier.overall, now.overall);
  comparison.tooth_groups = tooth_group_changes(earlier, now);
  return comparison;
}

}  // namespace canalrule
