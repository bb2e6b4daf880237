#include "audit_sections.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

/// What isn't within, by name: "outside: Ends 0 to 2 mm short of the radiographic apex".
std::string remarks(const AuditHead& head, const CanalRow& canal) {
  std::vector<std::string> out;
  for (const Verdict verdict : {Verdict::outside, Verdict::too_close_to_call, Verdict::not_assessable}) {
    std::vector<std::string> criteria;
    for (std::size_t i = 0; i < canal.verdicts.size() && i < head.criteria.criteria.size(); ++i) {
      if (canal.verdicts[i].verdict == verdict) criteria.push_back(head.criteria.criteria[i].id);
    }
    if (!criteria.empty()) out.push_back(std::string(verdict_words(verdict)) + ": " + joined(criteria, ", "));
  }
  return joined(out, "; ");
}

Words picture_link(const CaseRow& row) {
  if (row.picture.empty()) return "none made";
  return Phrase{"picture of " + row.name, Phrase::Style::plain, row.picture};
}

}  // namespace

Table case_table(const std::string& caption) {
  return {caption,
          {{"Case"},
           {"Tooth"},
           {"Canal"},
           {"End of the fill"},
           {"All criteria together"},
           {"What isn't within"},
           {"Picture"}},
          {},
          "No case."};
}

std::vector<std::vector<Words>> case_rows(const AuditHead& head, const CaseRow& row) {
  if (row.status == CaseStatus::failed)
    return {{row.name, row.tooth, "", "", Words(Phrase{"not measured", Phrase::Style::strong}), row.reason,
             picture_link(row)}};
  std::vector<std::vector<Words>> rows;
  for (const CanalRow& canal : row.canals) {
    const std::string end =
        canal.figures.terminus ? terminus_words(*canal.figures.terminus) : std::string("not assessable");
    rows.push_back({row.name, row.tooth, canal.figures.name, end, verdict_phrase(canal.together),
                    remarks(head, canal), picture_link(row)});
  }
  return rows;
}

}  // namespace canalrule::report
