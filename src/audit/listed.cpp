#include "listed.hpp"

#include <canalrule/base/utf8.hpp>
#include <canalrule/base/version.hpp>
#include <canalrule/base/whole_file.hpp>
#include <cstdint>
#include <span>

#include "privacy.hpp"

namespace canalrule::audit {

namespace {

std::string sha256_of(const std::string& text) {
  return sha256_hex(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

}  // namespace

Listed::Listed(const AuditPlan& plan)
    : list_(plan.list), part_(plan.part), pseudonyms_(plan.key_file, plan.list.sha256) {
  head_.program = "canalrule " + std::string(version());
  head_.opencv = plan.opencv;
  head_.list_mark = sha256_of("canalrule case list\n" + list_.sha256).substr(0, 16);
  head_.criteria_sha256 = sha256_of(plan.criteria_json);
  head_.criteria_json = plan.criteria_json;
  head_.criteria = parse_criteria(plan.criteria_json, plan.criteria_file);
  head_.cases = list_.rows.size();
  head_.identities = plan.identities;
  if (plan.identities == Identities::pseudonyms) head_.pseudonyms_mark = pseudonyms_.mark();
  const ListColumns columns = columns_of(list_, plan.identities);
  head_.columns_left_out = columns.left_out;
  head_.columns = columns.kept;
}

std::size_t Listed::cases_of_part() const noexcept {
  const std::size_t before = part_.number - 1;
  return list_.rows.size() <= before ? 0 : (list_.rows.size() - before - 1) / part_.of + 1;
}

const CaseListRow& Listed::row(std::size_t nth) const { return list_.rows[index(nth)]; }

std::string Listed::person(Person role, const std::string& name) {
  return head_.identities == Identities::as_given ? name : pseudonyms_.of(role, name);
}

/// Files are often called by the patient's name, so the cases of a folder get pseudonyms too.
std::string Listed::name_of(const CaseListRow& row) {
  const std::string& name = list_.value(row, "case");
  return list_.source == CaseList::Source::folder ? person(Person::case_of_folder, name) : name;
}

std::string Listed::called(std::size_t nth) {
  const CaseListRow& listed = row(nth);
  const std::string name = printable_line(name_of(listed));
  const std::string line = "line " + std::to_string(listed.line);
  if (list_.source == CaseList::Source::folder) return "case " + name;
  return name.empty() ? line : "case " + name + " (" + line + ")";
}

CaseRow Listed::row_of(std::size_t nth, const std::string& reading_reader) {
  const CaseListRow& listed = row(nth);
  CaseRow out;
  out.index = index(nth);
  out.line = listed.line;
  out.name = name_of(listed);
  out.operated_by = person(Person::operated_by, list_.value(listed, "operator"));
  const std::string& reader = list_.value(listed, "reader");
  out.read_by = person(Person::read_by, reader.empty() ? reading_reader : reader);
  out.patient = person(Person::patient, list_.value(listed, "patient"));
  out.tooth = list_.value(listed, "tooth");
  for (const std::string& column : head_.columns) out.values.push_back(list_.value(listed, column));
  return out;
}

}  // namespace canalrule::audit

namespace canalrule {

ListColumns columns_of(const CaseList& list, Identities identities) {
  ListColumns columns;
  for (const std::string& column : list.columns) {
    const audit::ColumnRole role = audit::role_of(column);
    if (role == audit::ColumnRole::identifying && identities == Identities::pseudonyms)
      columns.left_out.push_back(column);
    else if (role == audit::ColumnRole::further || role == audit::ColumnRole::identifying)
      columns.kept.push_back(column);
  }
  return columns;
}

}  // namespace canalrule
