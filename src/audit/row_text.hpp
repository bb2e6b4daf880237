#pragma once

#include <canalrule/audit/row.hpp>
#include <string>

#include "store_line.hpp"

namespace canalrule::audit {

/// What is kept of a measured case: the result as JSON on one line, without what the tables and figures of an
/// audit don't need (paths, all widths but the first and the last), and without the names of files and
/// reader.
std::string kept_result(Result result);

/// A row as a line of the finished store. `result` is that of kept_result, empty for a failed case; of the
/// row itself what comes from the result is not written twice.
StoreLine row_line(const CaseRow& row, const std::string& key, const std::string& result);

/// The row of a line, its canals judged. `file` is the store as refusals name it.
CaseRow row_of(const StoreLine& line, const Criteria& criteria, const std::string& file);

/// Why the case of a line of kind failed or failed_row failed.
std::string reason_of(const StoreLine& line, const std::string& file);

/// The picture that a row refers to; empty where there is none.
std::string picture_of(const StoreLine& row, const std::string& file);

struct HeadAndPart {
  AuditHead head;
  AuditPart part;
};

StoreLine head_line(const AuditHead& head, const AuditPart& part);
HeadAndPart head_of(const StoreLine& line, const std::string& file);

/// A line that says why a case failed, for the journal.
StoreLine failed_line(const std::string& key, const std::string& reason);

}  // namespace canalrule::audit
