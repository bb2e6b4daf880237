#include <canalrule/audit/audit_folder.hpp>
#include <canalrule/base/refusal.hpp>
#include <system_error>

#include "row_text.hpp"
#include "store.hpp"

namespace canalrule {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void refuse_damaged(const std::string& file) {
  throw Refusal(RefusalKind::unusable_input, file, "", "the file is damaged", "run the audit again");
}

}  // namespace

AuditFolder::AuditFolder(const fs::path& folder) : folder_(folder) {
  const fs::path file = folder / audit::rows_name;
  std::error_code ignored;
  // A later run may have begun over the rows of an earlier one.
  if (fs::exists(folder / audit::journal_name, ignored))
    throw Refusal(RefusalKind::unusable_input, folder.string(), "", "the audit in this folder isn't finished",
                  "run the same command again: it goes on where it was");
  if (!fs::exists(file, ignored))
    throw Refusal(RefusalKind::unusable_input, folder.string(), "", "no audit lies in this folder",
                  "name the --output folder of an audit");
  audit::StoreReader reader(file);
  const std::optional<audit::StoreLine> line = reader.next();
  if (!line || line->kind != audit::LineKind::head) refuse_damaged(file.string());
  audit::HeadAndPart found = audit::head_of(*line, file.string());
  head_ = std::make_shared<const AuditHead>(std::move(found.head));
  part_ = found.part;
}

RowSource AuditFolder::rows() const {
  return [file = folder_ / audit::rows_name, head = head_](const RowVisitor& visit) {
    audit::StoreReader reader(file);
    reader.next();
    while (const std::optional<audit::StoreLine> line = reader.next())
      visit(audit::row_of(*line, head->criteria, file.string()));
    if (!reader.at_end()) refuse_damaged(file.string());
  };
}

}  // namespace canalrule
