#include <algorithm>

#include <doctest/doctest.h>

#include "summary_rows.hpp"

using namespace canalrule_test;
using V = Verdict;

namespace {

const Grouping* grouping(const AuditSummary& summary, Grouping::By by, const std::string& column = "") {
  for (const Grouping& one : summary.groupings)
    if (one.by == by && one.column == column) return &one;
  return nullptr;
}

const Group& group(const Grouping& grouping, const std::string& name) {
  return *std::find_if(grouping.groups.begin(), grouping.groups.end(),
                       [&](const Group& one) { return one.name == name; });
}

void check_adds_up(const CriterionShare& share) {
  std::size_t reasons = 0;
  for (const ReasonCount& reason : share.not_assessable_for) reasons += reason.count;
  CHECK(reasons == share.not_assessable);
  CHECK(share.lowest.counted == share.within);
  CHECK(share.highest.counted == share.within + share.too_close_to_call);
  CHECK(share.lowest.all == share.assessable());
  CHECK(share.highest.all == share.assessable());
}

}  // namespace

TEST_CASE("cases are counted before anything else: measured, failed and why") {
  Rows rows;
  rows.add("a", {canal(1.0, V::within), canal(1.0, V::within, V::within, "D")});
  rows.add_failed("The film can't be read.");
  rows.add_failed("The reading is missing.");
  rows.add_failed("The film can't be read.");
  const AuditSummary summary = summarise(head_of(), rows.source());
  CHECK(summary.counts.cases == 4);
  CHECK(summary.counts.measured == 1);
  CHECK(summary.counts.failed == 3);
  REQUIRE(summary.counts.failed_for.size() == 2);
  CHECK(summary.counts.failed_for[0].reason == "The film can't be read.");
  CHECK(summary.counts.failed_for[0].count == 2);
  CHECK(summary.counts.canals == 2);
  CHECK(summary.counts.canals_fully_assessable == 2);
  CHECK(summary.overall.failed == 3);
}

TEST_CASE("no case at all gives counts of nothing and shares without value") {
  const AuditSummary summary = summarise(head_of(), Rows().source());
  CHECK(summary.counts.cases == 0);
  CHECK_FALSE(summary.overall.together.lowest.share.value);
  CHECK_FALSE(summary.overall.together.lowest.share.reason.empty());
  CHECK(summary.figures.empty());
  CHECK(summary.voids.places.empty());
  CHECK_FALSE(summary.funnel.reason.empty());
  CHECK_FALSE(summary.agreement.reason.empty());
}

TEST_CASE("what is too close to call is carried as lowest and highest share") {
  Rows rows;
  for (int i = 0; i < 10; ++i)
    rows.add("film " + std::to_string(i), {canal(1.0, i < 6   ? V::within
                                                      : i < 8 ? V::too_close_to_call
                                                              : V::outside)});
  const CriterionShare length = summarise(head_of(), rows.source()).overall.criteria[0];
  CHECK(length.within == 6);
  CHECK(length.too_close_to_call == 2);
  CHECK(length.outside == 2);
  CHECK(*length.lowest.share.value == doctest::Approx(0.6));
  CHECK(*length.highest.share.value == doctest::Approx(0.8));
  CHECK(*length.lowest.share.interval == *statistics::wilson(6, 10).interval);
  CHECK(*length.highest.share.interval == *statistics::wilson(8, 10).interval);
  check_adds_up(length);
}

TEST_CASE("what isn't assessable stays out of the share and is told by the record's reason") {
  Rows rows;
  for (int i = 0; i < 5; ++i) {
    CanalRow row = canal(1.0, V::within, i < 2 ? V::not_assessable : V::within);
    if (i == 0)
      row.figures.not_assessable.push_back({"voids", {}, {}, "overlap", "Another root lies over it."});
    if (i == 1)
      row.figures.not_assessable.push_back({"terminus", {}, {}, "clipped", "The grey is clipped."});
    rows.add("film " + std::to_string(i), {row});
  }
  const AuditSummary summary = summarise(head_of(), rows.source());
  const CriterionShare& density = summary.overall.criteria[1];
  CHECK(density.not_assessable == 2);
  CHECK(density.assessable() == 3);
  CHECK(density.lowest.all == 3);
  REQUIRE(density.not_assessable_for.size() == 2);
  CHECK(density.not_assessable_for[0].reason == "clipped");
  CHECK(density.not_assessable_for[1].reason == "overlap");
  CHECK(density.not_assessable_for[1].text == "Another root lies over it.");
  CHECK(summary.counts.canals_fully_assessable == 3);
  check_adds_up(density);
  check_adds_up(summary.overall.together);
  CHECK(summary.overall.together.not_assessable == 2);
}

TEST_CASE("what forbids every verdict is counted as it is, whatever else isn't seen") {
  Rows rows;
  for (const char* code : {"apex-aside", "taper-reversed"}) {
    CanalRow row = canal(1.0, V::not_assessable, V::not_assessable);
    row.figures.warnings = {{code, std::string("Wrong marks: ") + code}};
    row.figures.not_assessable = {{"voids", -0.3, 0.2, "leaves-root", "The fill leaves the root."}};
    rows.add(code, {row});
  }
  for (const CriterionShare& criterion : summarise(head_of(), rows.source()).overall.criteria) {
    REQUIRE(criterion.not_assessable_for.size() == 2);
    CHECK(criterion.not_assessable_for[0].reason == "apex-aside");
    CHECK(criterion.not_assessable_for[1].reason == "taper-reversed");
    CHECK(criterion.not_assessable_for[1].text == "Wrong marks: taper-reversed");
  }
}

TEST_CASE("canals of one patient are one cluster; without a patient those of one film are") {
  Rows by_patient, by_film;
  for (int i = 0; i < 20; ++i) {
    const V verdict = i % 4 < 2 ? V::within : V::outside;  // films 0 and 1, 2 and 3, ... go together
    const std::vector<CanalRow> canals{canal(1.0, verdict), canal(1.0, verdict, V::within, "D")};
    by_film.add("film " + std::to_string(i), canals);
    by_patient.add("film " + std::to_string(i), canals).patient = "P" + std::to_string(i / 2);
  }
  const Group films = summarise(head_of(), by_film.source()).overall;
  const Group patients = summarise(head_of(), by_patient.source()).overall;
  CHECK(films.clusters == 20);
  CHECK(patients.clusters == 10);
  CHECK(films.criteria[0].lowest.design.value == doctest::Approx(2.0 * 20.0 / 19.0));
  CHECK(patients.criteria[0].lowest.design.value == doctest::Approx(4.0 * 10.0 / 9.0));
  CHECK(summarise(head_of(), by_patient.source()).counts.patients == 10);
  CHECK(summarise(head_of(), by_film.source()).counts.cases_without_patient == 20);
}

TEST_CASE("a reading without a tooth is of the film's only one; a film under two teeth is told") {
  Rows rows;
  const auto read = [&](const std::string& film, const std::string& tooth) {
    rows.add(film, {canal(1.0, V::within)}).tooth = tooth;
  };
  read("film 0", "45");
  read("film 0", "");
  read("film 1", "");
  read("film 1", "36");
  read("film 1", "36");
  read("film 2", "11");
  read("film 2", "12");
  read("film 2", "");  // of either
  const Counts counts = summarise(head_of(), rows.source()).counts;
  CHECK(counts.films == 3);
  CHECK(counts.read_again == 3);
  CHECK(counts.canals == 5);
  CHECK(counts.films_of_several_teeth == 1);
}

TEST_CASE("a film read again counts once, by the first reading; for each reader once") {
  Rows rows;
  for (int i = 0; i < 4; ++i) rows.add("film " + std::to_string(i), {canal(1.0, V::within)}).read_by = "A";
  for (int i = 0; i < 4; ++i) rows.add("film " + std::to_string(i), {canal(1.0, V::outside)}).read_by = "B";
  rows.add("film 0", {canal(1.0, V::outside)}).read_by = "A";
  CaseRow& copy = rows.add("film 1", {canal(1.0, V::outside)});
  copy.reading_sha256 = "reading 1";
  const AuditSummary summary = summarise(head_of(), rows.source());
  CHECK(summary.counts.canals == 4);
  CHECK(summary.counts.canals_read_again == 5);
  CHECK(summary.counts.read_again == 6);
  CHECK(summary.counts.same_reading_again == 1);
  CHECK(summary.counts.films == 4);
  CHECK(summary.overall.criteria[0].within == 4);
  CHECK(summary.overall.criteria[0].outside == 0);
  const Grouping* readers = grouping(summary, Grouping::By::read_by);
  REQUIRE(readers != nullptr);
  CHECK(group(*readers, "A").criteria[0].within == 4);
  CHECK(group(*readers, "A").criteria[0].outside == 0);
  CHECK(group(*readers, "B").criteria[0].outside == 4);
}

TEST_CASE("two teeth on one film are two") {
  Rows rows;
  rows.add("film", {canal(1.0, V::within)}).tooth = "36";
  rows.add("film", {canal(1.0, V::outside)}).tooth = "37";
  const AuditSummary summary = summarise(head_of(), rows.source());
  CHECK(summary.counts.canals == 2);
  CHECK(summary.counts.films == 1);
  CHECK(summary.overall.clusters == 1);
}

TEST_CASE("teeth are grouped by ISO 3950, in the mouth's order, unknown ones last") {
  const std::vector<std::pair<const char*, const char*>> known{{"11", "upper anterior"},
                                                               {"23", "upper anterior"},
                                                               {"14", "upper premolar"},
                                                               {"25", "upper premolar"},
                                                               {"16", "upper molar"},
                                                               {"28", "upper molar"},
                                                               {"31", "lower anterior"},
                                                               {"43", "lower anterior"},
                                                               {"34", "lower premolar"},
                                                               {"45", "lower premolar"},
                                                               {"36", "lower molar"},
                                                               {"48", "lower molar"},
                                                               {"51", "upper deciduous anterior"},
                                                               {"65", "upper deciduous molar"},
                                                               {"73", "lower deciduous anterior"},
                                                               {"84", "lower deciduous molar"},
                                                               {"", ""},
                                                               {"19", ""},
                                                               {"56", ""},
                                                               {"90", ""},
                                                               {"molar", ""}};
  Rows rows;
  for (std::size_t i = 0; i < known.size(); ++i)
    rows.add("film " + std::to_string(i), {canal(1.0, V::within)}).tooth = known[i].first;
  const AuditSummary summary = summarise(head_of(), rows.source());
  const Grouping* teeth = grouping(summary, Grouping::By::tooth_group);
  REQUIRE(teeth != nullptr);
  REQUIRE(teeth->groups.size() == 11);
  CHECK(teeth->groups.front().name == "upper anterior");
  CHECK(teeth->groups.back().name.empty());
  for (const Group& one : teeth->groups) {
    const auto expected = std::count_if(known.begin(), known.end(),
                                        [&](const auto& tooth) { return tooth.second == one.name; });
    CHECK(one.cases == static_cast<std::size_t>(expected));
  }
}

TEST_CASE("columns are grouped by where that says something, and left out with a reason where not") {
  Rows rows;
  for (int i = 0; i < 40; ++i)
    rows.add("film " + std::to_string(i), {canal(1.0, V::within)}).values = {i % 2 == 0 ? "north" : "south",
                                                                             std::to_string(i), "same"};
  rows.add_failed("broken").values = {"north", "x", "same"};
  const AuditHead head = head_of({"clinic", "number", "kind"});
  const AuditSummary summary = summarise(head, rows.source());
  const Grouping* clinics = grouping(summary, Grouping::By::column, "clinic");
  REQUIRE(clinics != nullptr);
  CHECK(group(*clinics, "north").cases == 20);
  CHECK(group(*clinics, "north").failed == 1);
  CHECK(group(*clinics, "south").failed == 0);
  REQUIRE(summary.columns_left_out.size() == 2);
  CHECK(summary.columns_left_out[0].column == "number");
  CHECK(summary.columns_left_out[1].column == "kind");
  SummaryOptions asked;
  asked.group_by = {"number"};
  const AuditSummary by_number = summarise(head, rows.source(), asked);
  CHECK(grouping(by_number, Grouping::By::column, "number") != nullptr);
  CHECK(grouping(by_number, Grouping::By::column, "clinic") == nullptr);
}

TEST_CASE("groups are set against each other only where their intervals part and both have enough cases") {
  const auto differences = [](int cases, int every) {
    Rows rows;
    for (int i = 0; i < cases; ++i) {
      rows.add("a" + std::to_string(i), {canal(1.0, i % every != 0 ? V::within : V::outside)}).operated_by =
          "A";
      rows.add("b" + std::to_string(i), {canal(1.0, i % every == 0 ? V::within : V::outside)}).operated_by =
          "B";
    }
    const AuditSummary summary = summarise(head_of(), rows.source());
    return grouping(summary, Grouping::By::operated_by)->clear_differences;
  };
  CHECK(differences(40, 2).empty());  // 20 of 40 against 20 of 40
  CHECK(differences(9, 9).empty());   // 8 of 9 against 1 of 9, but too few
  const std::vector<ClearDifference> clear = differences(40, 4);
  REQUIRE(clear.size() == 1);
  CHECK(clear[0].higher == "A");
  CHECK(clear[0].lower == "B");
  CHECK(*clear[0].least.value == doctest::Approx(0.5));
  CHECK(clear[0].least.interval->low > 0.0);
}

TEST_CASE("of many clear differences the largest are listed and the rest are counted") {
  Rows rows;
  for (int who = 0; who < 11; ++who)
    for (int i = 0; i < 12; ++i)
      rows.add("film " + std::to_string(100 * who + i), {canal(1.0, who < 6 ? V::within : V::outside)})
          .operated_by = "O" + std::to_string(who);
  const AuditSummary summary = summarise(head_of(), rows.source());
  const Grouping* operators = grouping(summary, Grouping::By::operated_by);
  CHECK(operators->clear_differences.size() == 20);
  CHECK(operators->clear_differences_left_out == 10);  // 6 times 5 in all
}

TEST_CASE("ten cases, the least to be compared, still leave more than a quarter open") {
  CHECK(SummaryOptions().least_cases == 10);
  CHECK(statistics::wilson(10, 10).interval->low == doctest::Approx(0.7225).epsilon(1e-4));
}

TEST_CASE("an operator is placed outside of the funnel only where even the kinder reading of it is") {
  Rows rows;
  for (int i = 0; i < 200; ++i) {
    const std::string name = i % 2 == 0 ? "A" : "B";
    rows.add("film " + name + std::to_string(i), {canal(1.0, i % 10 < 8 ? V::within : V::outside)})
        .operated_by = name;
  }
  for (int i = 0; i < 30; ++i) {
    rows.add("low " + std::to_string(i), {canal(1.0, i < 10 ? V::within : V::outside)}).operated_by = "Low";
    rows.add("open " + std::to_string(i), {canal(1.0, i < 10 ? V::within : V::too_close_to_call)})
        .operated_by = "Open";
  }
  for (int i = 0; i < 9; ++i)
    rows.add("few " + std::to_string(i), {canal(1.0, V::outside)}).operated_by = "Few";
  const Funnel funnel = summarise(head_of(), rows.source()).funnel;
  CHECK(funnel.reason.empty());
  std::vector<std::string> names;
  for (const FunnelPoint& point : funnel.points) names.push_back(point.name);
  CHECK(names == std::vector<std::string>{"A", "B", "Few", "Low", "Open"});
  CHECK(funnel.points[0].place == FunnelPoint::Place::inside);
  CHECK(funnel.points[2].place == FunnelPoint::Place::too_few);
  CHECK(funnel.points[3].place == FunnelPoint::Place::below);
  CHECK(funnel.points[4].place == FunnelPoint::Place::inside);
  CHECK(funnel.points[4].lowest == doctest::Approx(funnel.points[3].lowest));
  CHECK(funnel.points[4].highest == 1.0);
  REQUIRE(funnel.lines.size() > 10);
  for (std::size_t i = 1; i < funnel.lines.size(); ++i)
    CHECK(funnel.lines[i].effective_size > funnel.lines[i - 1].effective_size);
  CHECK(static_cast<double>(funnel.lines.back().effective_size) >= funnel.points[0].effective_size);
}

TEST_CASE("operators who differ aren't taken for clustering, canals that go together are") {
  const auto effect = [](bool alike) {
    Rows rows;
    for (int i = 0; i < 60; ++i) {
      const V first = i % 3 == 0 ? V::outside : V::within;
      const V second = alike ? first : (i % 9 < 3 ? V::outside : V::within);
      rows.add("a" + std::to_string(i), {canal(1.0, first), canal(1.0, second, V::within, "D")}).operated_by =
          "A";
      rows.add("b" + std::to_string(i), {canal(1.0, V::within), canal(1.0, V::within, V::within, "D")})
          .operated_by = "B";
    }
    return summarise(head_of(), rows.source()).funnel.design_effect;
  };
  CHECK(effect(true) == doctest::Approx(2.0 * 60.0 / 59.0));
  CHECK(effect(false) == doctest::Approx(1.0).epsilon(0.03));
}
