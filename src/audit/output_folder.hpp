#pragma once

#include <canalrule/audit/row.hpp>
#include <canalrule/base/whole_file.hpp>
#include <filesystem>
#include <set>
#include <string>

#include "store_line.hpp"

namespace canalrule::audit {

/// The folder, made where it isn't there, and rid of what a killed run left half-written.
std::filesystem::path opened_output(const std::filesystem::path& folder);

/// The finished rows of an audit, written in the list's order, whole or not at all.
class RowsWriter {
 public:
  RowsWriter(const std::filesystem::path& folder, const AuditHead& head, const AuditPart& part);

  void add(const CaseRow& row, const std::string& key, const std::string& result);
  /// A row as it stands in another store, named as refusals name it; returns the picture it refers to.
  std::string add(const StoreLine& line, const std::string& from);
  /// Puts the file in place and removes the pictures of cases that are in it no more.
  void commit();

 private:
  std::filesystem::path folder_;
  WholeFile file_;
  std::set<std::string> pictures_;
};

}  // namespace canalrule::audit
