#pragma once

#include <canalrule/audit/run.hpp>
#include <cstddef>
#include <string>
#include <vector>

#include "pseudonyms.hpp"

namespace canalrule::audit {

/// The case list as an audit sees it: one part of its rows, names under pseudonyms, and only those columns
/// that go into the output.
class Listed {
 public:
  explicit Listed(const AuditPlan& plan);

  const AuditHead& head() const noexcept { return head_; }
  Pseudonyms& pseudonyms() noexcept { return pseudonyms_; }

  std::size_t cases_of_part() const noexcept;
  /// The nth row of the part; the parts take the list's rows in turn, so that each gets a like share of them.
  const CaseListRow& row(std::size_t nth) const;
  /// "case B7 (line 17)"
  std::string called(std::size_t nth);
  /// The row that the output holds, as far as the list knows it; `reading_reader` is whom the reading names.
  CaseRow row_of(std::size_t nth, const std::string& reading_reader);

 private:
  std::size_t index(std::size_t nth) const noexcept { return nth * part_.of + part_.number - 1; }
  std::string name_of(const CaseListRow& row);
  std::string person(Person role, const std::string& name);

  const CaseList& list_;
  AuditPart part_;
  AuditHead head_;
  Pseudonyms pseudonyms_;
};

}  // namespace canalrule::audit
