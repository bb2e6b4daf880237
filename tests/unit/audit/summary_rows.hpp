#pragma once

#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

#include <canalrule/audit/summary.hpp>

/// Rows of an audit made by hand, for the tests of its summary.
namespace canalrule_test {

using namespace canalrule;

inline Criteria length_and_density() {
  Criterion length{"length",         "Ends 0 to 2 mm short", CriterionFigure::terminus_to_apex_mm,
                   Limit{0.0, true}, Limit{2.0, true},       {}};
  Criterion density{"density", "No void", CriterionFigure::void_count, std::nullopt, Limit{0.0, true}, {}};
  density.voids.least_score = 5.0;
  density.voids.least_length_mm = 0.3;
  return {"Length and density", "1", "made for the test", "", 0.95, {length, density}};
}

inline AuditHead head_of(std::vector<std::string> columns = {}) {
  AuditHead head;
  head.program = "canalrule 0.1.0";
  head.opencv = "4.6.0";
  head.criteria = length_and_density();
  head.criteria_sha256 = std::string(64, 'c');
  head.columns = std::move(columns);
  return head;
}

/// A canal whose fill reaches from `to_apex_mm` to 12 mm, without a void.
inline CanalRow canal(double to_apex_mm, Verdict length, Verdict density = Verdict::within,
                      const std::string& name = "ML") {
  CanalRow row;
  row.figures.name = name;
  row.figures.terminus = Terminus{{100, 900}, to_apex_mm, 0.1, Side::short_of, {}};
  row.figures.coronal_level_mm = Quantity{12.0, 0.2};
  row.figures.filled_length_mm = Quantity{12.0 - to_apex_mm, 0.2};
  row.figures.taper.overall = Quantity{0.06, 0.002};
  row.figures.voids = std::vector<Void>{};
  row.verdicts = {{length, 0.5, ""}, {density, 0.5, ""}};
  const auto either = [&](Verdict verdict) { return length == verdict || density == verdict; };
  row.together = Verdict::within;
  for (const Verdict worst : {Verdict::too_close_to_call, Verdict::not_assessable, Verdict::outside})
    if (either(worst)) row.together = worst;
  return row;
}

inline Void void_at(double from_mm, double to_mm, Third third, double score = 20.0) {
  Void found;
  found.from_mm = from_mm;
  found.to_mm = to_mm;
  found.length_mm = Quantity{to_mm - from_mm, 0.02};
  found.deficit = Quantity{0.5, 0.05};
  found.score = score;
  found.third = third;
  return found;
}

/// A list of cases that grows; what a case doesn't say stays empty. Film and reading are told apart by name.
class Rows {
 public:
  CaseRow& add(const std::string& film, std::vector<CanalRow> canals) {
    CaseRow row;
    row.index = rows_.size();
    row.line = rows_.size() + 2;
    row.name = "case " + std::to_string(rows_.size() + 1);
    row.status = CaseStatus::measured;
    row.film_sha256 = film;
    row.reading_sha256 = "reading " + std::to_string(rows_.size());
    row.canals = std::move(canals);
    rows_.push_back(std::move(row));
    return rows_.back();
  }
  CaseRow& add_failed(const std::string& reason) {
    CaseRow& row = add("", {});
    row.status = CaseStatus::failed;
    row.reason = reason;
    return row;
  }
  RowSource source() const {
    return [this](const RowVisitor& visit) {
      for (const CaseRow& row : rows_) visit(row);
    };
  }

 private:
  std::vector<CaseRow> rows_;
};

}  // namespace canalrule_test
