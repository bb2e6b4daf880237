#include "row_text.hpp"

#include <canalrule/base/refusal.hpp>
#include <nlohmann/json.hpp>
#include <utility>

#include "judged_rows.hpp"

namespace canalrule::audit {

using nlohmann::json;
using nlohmann::ordered_json;

namespace {

constexpr const char* schema = "canalrule.audit-rows/1";

/// Text that isn't UTF-8 is written with U+FFFD in place of what is wrong.
std::string one_line(const ordered_json& document) {
  return document.dump(-1, ' ', false, json::error_handler_t::replace);
}

json parsed(const std::string& text, const std::string& file) {
  json document = json::parse(text, nullptr, false);
  if (document.is_discarded())
    throw Refusal(RefusalKind::unusable_input, file, "", "the file is damaged", "run the audit again");
  return document;
}

/// Calls a function that takes a document apart; what isn't as it was written is a damaged file.
template <class Take>
auto taken(const std::string& file, Take take) {
  try {
    return take();
  } catch (const json::exception&) {
    throw Refusal(RefusalKind::unusable_input, file, "",
                  "the file was not written by this version of the program", "run the audit again");
  }
}

}  // namespace

std::string kept_result(Result result) {
  for (CanalResult& canal : result.canals) {
    // The first and the last say that the width is known, which the judgement asks.
    if (canal.width.size() > 2) canal.width.erase(canal.width.begin() + 1, canal.width.end() - 1);
    canal.drawn_path.clear();
    canal.centre_line.clear();
    canal.against_plan.width.clear();
  }
  result.provenance.image_file.clear();
  result.provenance.reading_file.clear();
  result.provenance.reader.clear();
  result.judged.reset();
  result.cautions.clear();
  return one_line(ordered_json::parse(write_result(result)));
}

StoreLine failed_line(const std::string& key, const std::string& reason) {
  return {LineKind::failed, key, one_line({{"reason", reason}}), ""};
}

std::string reason_of(const StoreLine& line, const std::string& file) {
  const json about = parsed(line.about, file);
  return taken(file, [&] { return about.at("reason").get<std::string>(); });
}

std::string picture_of(const StoreLine& row, const std::string& file) {
  const json about = parsed(row.about, file);
  return taken(file, [&] { return about.value("picture", std::string()); });
}

StoreLine row_line(const CaseRow& row, const std::string& key, const std::string& result) {
  ordered_json about{{"index", row.index}, {"line", row.line}, {"case", row.name}};
  if (row.status == CaseStatus::failed) about["reason"] = row.reason;
  if (!row.operated_by.empty()) about["operator"] = row.operated_by;
  if (!row.read_by.empty()) about["reader"] = row.read_by;
  if (!row.patient.empty()) about["patient"] = row.patient;
  if (!row.tooth.empty()) about["tooth"] = row.tooth;
  if (!row.picture.empty()) about["picture"] = row.picture;
  about["values"] = row.values;
  return {row.status == CaseStatus::measured ? LineKind::measured_row : LineKind::failed_row, key,
          one_line(about), result};
}

CaseRow row_of(const StoreLine& line, const Criteria& criteria, const std::string& file) {
  const json about = parsed(line.about, file);
  CaseRow row;
  taken(file, [&] {
    const auto text = [&](const char* key) { return about.value(key, std::string()); };
    row.index = about.at("index").get<std::size_t>();
    row.line = about.at("line").get<std::size_t>();
    row.name = text("case");
    row.reason = text("reason");
    row.operated_by = text("operator");
    row.read_by = text("reader");
    row.patient = text("patient");
    row.tooth = text("tooth");
    row.picture = text("picture");
    row.values = about.at("values").get<std::vector<std::string>>();
    return 0;
  });
  if (line.kind != LineKind::measured_row) return row;
  Result result = parse_result(line.result, file);
  row.status = CaseStatus::measured;
  if (!result.provenance.tooth.empty()) row.tooth = result.provenance.tooth;
  row.film_sha256 = result.provenance.image_sha256;
  row.reading_sha256 = result.provenance.reading_sha256;
  row.canals = judged_rows(std::move(result.canals), criteria);
  row.scale = std::move(result.scale);
  row.warnings = std::move(result.warnings);
  return row;
}

StoreLine head_line(const AuditHead& head, const AuditPart& part) {
  const ordered_json about{
      {"schema", schema},
      {"program", head.program},
      {"opencv", head.opencv},
      {"list_mark", head.list_mark},
      {"cases", head.cases},
      {"part", {{"number", part.number}, {"of", part.of}}},
      {"columns", head.columns},
      {"columns_left_out", head.columns_left_out},
      {"identities", head.identities == Identities::pseudonyms ? "pseudonyms" : "as-given"},
      {"pseudonyms_mark", head.pseudonyms_mark},
      {"criteria_sha256", head.criteria_sha256},
      {"criteria", head.criteria_json}};
  return {LineKind::head, key_of(head.list_mark), one_line(about), ""};
}

HeadAndPart head_of(const StoreLine& line, const std::string& file) {
  const json about = parsed(line.about, file);
  return taken(file, [&] {
    if (about.at("schema").get<std::string>() != schema)
      throw Refusal(RefusalKind::unusable_input, file, "",
                    "the file was written by another version of the program", "run the audit again");
    HeadAndPart out;
    about.at("program").get_to(out.head.program);
    about.at("opencv").get_to(out.head.opencv);
    about.at("list_mark").get_to(out.head.list_mark);
    about.at("cases").get_to(out.head.cases);
    about.at("part").at("number").get_to(out.part.number);
    about.at("part").at("of").get_to(out.part.of);
    about.at("columns").get_to(out.head.columns);
    about.at("columns_left_out").get_to(out.head.columns_left_out);
    out.head.identities = about.at("identities").get<std::string>() == "as-given" ? Identities::as_given
                                                                                  : Identities::pseudonyms;
    about.at("pseudonyms_mark").get_to(out.head.pseudonyms_mark);
    about.at("criteria_sha256").get_to(out.head.criteria_sha256);
    about.at("criteria").get_to(out.head.criteria_json);
    out.head.criteria = parse_criteria(out.head.criteria_json, file);
    return out;
  });
}

}  // namespace canalrule::audit
