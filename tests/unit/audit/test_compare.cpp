#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "summary_rows.hpp"

using namespace canalrule_test;
using V = Verdict;

namespace {

/// `within` of `all` canals end where they should, the others 3 mm short.
Rows audit_of(int within, int all) {
  Rows rows;
  for (int i = 0; i < all; ++i) {
    CaseRow& row = rows.add("film " + std::to_string(i),
                            {canal(i < within ? 1.0 : 3.0, i < within ? V::within : V::outside)});
    row.tooth = i % 2 == 0 ? "36" : "11";
    row.operated_by = i % 3 == 0 ? "A" : "B";
    row.read_by = "R";
  }
  return rows;
}

}  // namespace

TEST_CASE("the change of a share is now less earlier, with Newcombe's interval") {
  const Rows now = audit_of(56, 70), earlier = audit_of(48, 80);
  const AuditHead head = head_of();
  const Comparison found = compare(summarise(head, now.source()), head, earlier.source());
  CHECK_FALSE(found.judged_anew);
  CHECK(found.caution.empty());
  CHECK(found.earlier_counts.canals == 80);
  const ShareChange& length = found.overall.criteria[0];
  CHECK(*length.lowest.value == doctest::Approx(0.2));
  CHECK(*length.highest.value == doctest::Approx(0.2));
  CHECK(length.lowest.interval->low ==
        doctest::Approx(0.0524).epsilon(0.002));  // Newcombe 1998, as published
  CHECK(length.lowest.interval->high == doctest::Approx(0.3339).epsilon(0.002));
  REQUIRE(found.tooth_groups.size() == 2);
  CHECK(found.tooth_groups[0].name == "upper anterior");
  CHECK(found.tooth_groups[0].enough);
}

TEST_CASE("what is too close to call widens the change at both ends") {
  Rows now, earlier;
  for (int i = 0; i < 20; ++i) {
    now.add("n" + std::to_string(i), {canal(1.0, i < 12   ? V::within
                                                 : i < 16 ? V::too_close_to_call
                                                          : V::outside)});
    earlier.add("e" + std::to_string(i), {canal(1.0, i < 8    ? V::within
                                                     : i < 10 ? V::too_close_to_call
                                                              : V::outside)});
  }
  const Comparison found = compare(summarise(head_of(), now.source()), head_of(), earlier.source());
  CHECK(*found.overall.criteria[0].lowest.value == doctest::Approx(0.6 - 0.5));
  CHECK(*found.overall.criteria[0].highest.value == doctest::Approx(0.8 - 0.4));
}

TEST_CASE("an earlier audit by another rule is judged anew by this one") {
  const Rows now = audit_of(10, 20), earlier = audit_of(20, 20);
  AuditHead earlier_head = head_of();
  earlier_head.criteria_sha256 = std::string(64, 'e');
  earlier_head.criteria.criteria.resize(1);
  earlier_head.program = "canalrule 0.0.9";
  AuditHead strict = head_of();
  strict.criteria.criteria[0].upper = Limit{0.5, true};  // 1 mm is outside now
  const Comparison found = compare(summarise(strict, now.source()), earlier_head, earlier.source());
  CHECK(found.judged_anew);
  CHECK_FALSE(found.caution.empty());
  CHECK(found.overall.criteria.size() == 2);
  CHECK(found.overall.criteria[0].earlier.outside == 20);
  CHECK(found.earlier_head.program == "canalrule 0.0.9");
}

TEST_CASE("summary.json is the same bytes for the same rows, and says what the summary says") {
  const Rows rows = audit_of(30, 45), earlier = audit_of(20, 45);
  const AuditSummary summary = summarise(head_of(), rows.source());
  const Comparison against = compare(summary, head_of(), earlier.source());
  const std::string text = write_summary(summary, against);
  CHECK(text == write_summary(summarise(head_of(), rows.source()), against));
  const nlohmann::json document = nlohmann::json::parse(text);
  CHECK(document.at("schema") == "canalrule.summary/1");
  CHECK(document.at("counts").at("canals") == 45);
  CHECK(document.at("overall").at("criteria").at(0).at("criterion") == "length");
  CHECK(document.at("overall").at("criteria").at(0).at("within") == 30);
  CHECK(document.at("overall").at("criteria").at(0).at("lowest").at("value").get<double>() ==
        doctest::Approx(0.666667));
  CHECK(document.at("groupings").size() == 2);
  CHECK(document.at("against").at("overall").at("criteria").at(0).at("lowest").at("value").get<double>() ==
        doctest::Approx(10.0 / 45.0).epsilon(1e-5));
  CHECK(nlohmann::json::parse(write_summary(summary)).at("against").is_null());
}
