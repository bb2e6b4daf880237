#pragma once

#include <canalrule/audit/row.hpp>
#include <filesystem>
#include <memory>

namespace canalrule {

/// A finished audit, or a finished part of one, as it lies in its output folder. The rows are read from the
/// disk as they are asked for; verdicts are made from the measured figures on the way.
class AuditFolder {
 public:
  /// Refuses (unusable_input) a folder without a finished audit, and one that is damaged.
  explicit AuditFolder(const std::filesystem::path& folder);

  const std::filesystem::path& folder() const noexcept { return folder_; }
  const AuditHead& head() const noexcept { return *head_; }
  AuditPart part() const noexcept { return part_; }

  /// Every row, in the list's order. A pass refuses (unusable_input) a file that is damaged.
  RowSource rows() const;

 private:
  std::filesystem::path folder_;
  std::shared_ptr<const AuditHead> head_;
  AuditPart part_;
};

/// `canals.csv` and `cases.csv` in the audit's folder (RFC 4180; every figure with its standard uncertainty,
/// k = 1; the unit in the column's name).
void write_tables(const AuditFolder& audit);

}  // namespace canalrule
