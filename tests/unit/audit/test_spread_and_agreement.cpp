#include <cmath>

#include <doctest/doctest.h>

#include "summary_rows.hpp"

using namespace canalrule_test;
using V = Verdict;

namespace {

const FigureSpread* spread(const AuditSummary& summary, const std::string& figure) {
  for (const FigureSpread& one : summary.figures)
    if (one.figure == figure) return &one;
  return nullptr;
}

}  // namespace

TEST_CASE("a figure's spread holds every canal that has it, with the criteria's limits") {
  Rows rows;
  for (int i = 0; i < 9; ++i) rows.add("film " + std::to_string(i), {canal(0.25 * i, V::within)});
  CanalRow without = canal(1.0, V::not_assessable);
  without.figures.terminus.reset();
  rows.add("film 9", {without});
  const AuditSummary summary = summarise(head_of(), rows.source());
  const FigureSpread* length = spread(summary, "terminus_to_apex_mm");
  REQUIRE(length != nullptr);
  CHECK(length->values.count == 9);
  CHECK(length->missing == 1);
  CHECK(*length->values.median == doctest::Approx(1.0));
  CHECK(*length->mean_standard_uncertainty == doctest::Approx(0.1));
  REQUIRE(length->limits.size() == 2);
  CHECK(length->limits[0].value == 0.0);
  CHECK(length->limits[1].value == 2.0);
  std::size_t binned = length->histogram.below + length->histogram.above;
  for (const std::size_t count : length->histogram.counts) binned += count;
  CHECK(binned == 9);
  CHECK(spread(summary, "taper_overall")->values.count == 10);
  CHECK(spread(summary, "terminus_to_working_length_mm") == nullptr);
}

TEST_CASE("voids are placed along the canal, among the canals that are filled there") {
  Rows rows;
  for (int i = 0; i < 4; ++i) {
    CanalRow row = canal(1.0, V::within, i == 0 ? V::outside : V::within);
    if (i == 3) row.figures.coronal_level_mm = Quantity{6.0, 0.2};
    if (i == 2) row.figures.not_assessable = {{"voids", 7.2, 9.8, "overlap", "Another fill lies over it."}};
    if (i == 0)
      row.figures.voids =
          std::vector<Void>{void_at(4.8, 5.4, Third::apical), void_at(9.2, 9.3, Third::middle)};
    rows.add("film " + std::to_string(i), {row});
  }
  CanalRow unknown = canal(1.0, V::within, V::not_assessable);
  unknown.figures.voids.reset();
  rows.add("film 4", {unknown});
  const VoidsAlong along = summarise(head_of(), rows.source()).voids;
  CHECK(along.selected_by == "density");
  CHECK(along.selection.least_length_mm == 0.3);
  CHECK(along.voids == 1);  // the other is too short to count
  CHECK(along.canals_unknown == 1);
  REQUIRE(along.places.size() == 11);  // 1 to 12 mm; nothing is filled from 0 to 1
  CHECK(along.places[0].from_mm == 1.0);
  for (const VoidPlace& place : along.places) {
    const bool hidden = place.from_mm > 6.5 && place.from_mm < 9.5;  // of one of them
    CHECK(place.filled == (place.from_mm < 6.0 ? 4U : hidden ? 2U : 3U));
    CHECK(place.with_void == (place.from_mm == 4.0 || place.from_mm == 5.0 ? 1U : 0U));
    CHECK(place.share.counted == place.with_void);
  }
}

TEST_CASE("what is no filling, or has wrong marks, adds no figures") {
  Rows rows;
  rows.add("film 0", {canal(1.0, V::within)});
  CanalRow wrong = canal(-12.0, V::not_assessable, V::not_assessable);
  wrong.figures.warnings = {{"path-reversed", "The path runs the wrong way."}};
  rows.add("film 1", {wrong});
  const AuditSummary summary = summarise(head_of(), rows.source());
  CHECK(summary.voids.canals_unknown == 1);
  CHECK(summary.voids.places.front().from_mm == 1.0);
  REQUIRE_FALSE(summary.figures.empty());
  CHECK(summary.figures.front().values.count == 1);
  CHECK(summary.figures.front().missing == 1);
}

TEST_CASE("a criterion on voids is judged third by third") {
  Rows rows;
  CanalRow row = canal(0.0, V::within, V::outside);
  row.figures.voids = std::vector<Void>{void_at(5.0, 6.0, Third::middle)};
  rows.add("a", {row});
  rows.add("b", {canal(0.0, V::within)});
  const AuditSummary summary = summarise(head_of(), rows.source());
  REQUIRE(summary.thirds.size() == 1);
  const ThirdShares& thirds = summary.thirds.front();
  CHECK(thirds.criterion == "density");
  CHECK(thirds.apical.within == 2);
  CHECK(thirds.middle.within == 1);
  CHECK(thirds.middle.outside == 1);
  CHECK(thirds.coronal.within == 2);
}

TEST_CASE("nothing read twice: no agreement, and why") {
  Rows rows;
  rows.add("a", {canal(1.0, V::within)});
  const Agreement agreement = summarise(head_of(), rows.source()).agreement;
  CHECK(agreement.pairs.empty());
  CHECK_FALSE(agreement.reason.empty());
  CHECK_FALSE(agreement.joint.reason.empty());
}

TEST_CASE("readings without a reader are nobody's second reading") {
  Rows rows;
  for (int i = 0; i < 6; ++i) {
    const std::string film = "film " + std::to_string(i);
    rows.add(film, {canal(0.2 * i, V::within)});
    rows.add(film, {canal(0.2 * i + 0.3, V::within)});
    rows.add(film, {canal(0.2 * i, V::within)}).read_by = "A";
    rows.add(film, {canal(0.2 * i + 0.1, V::within)}).read_by = "B";
  }
  const AuditSummary summary = summarise(head_of(), rows.source());
  REQUIRE_FALSE(summary.agreement.spread.empty());
  const statistics::VarianceSplit& split = summary.agreement.spread.front().split;
  CHECK(split.measurements == 12);
  CHECK_FALSE(split.within_rater.has_value());
  CHECK(split.reason.find("without a reader") != std::string::npos);
}

TEST_CASE("two readers and one of them twice: between, within, and the parts of the spread") {
  Rows rows;
  for (int i = 0; i < 12; ++i) {
    const double truth = 0.2 * i;
    const double wobble = i % 2 == 0 ? 0.03 : -0.03;
    const std::string film = "film " + std::to_string(i);
    const auto verdict = [](double value) { return value <= 2.0 ? V::within : V::outside; };
    const auto reading = [&](double value) { return std::vector<CanalRow>{canal(value, verdict(value))}; };
    rows.add(film, reading(truth)).read_by = "A";
    rows.add(film, reading(truth + 0.2 + wobble)).read_by = "B";
    if (i < 6) rows.add(film, reading(truth + wobble)).read_by = "A";
  }
  const AuditSummary summary = summarise(head_of(), rows.source());
  const Agreement& agreement = summary.agreement;
  CHECK(agreement.films_read_again == 12);
  CHECK(agreement.canals_read_again == 12);
  REQUIRE(agreement.pairs.size() == 2);
  const PairAgreement& between = agreement.pairs[0];
  CHECK(between.kind == PairAgreement::Kind::between_readers);
  CHECK(between.first == "A");
  CHECK(between.second == "B");
  CHECK(between.canals == 12);
  const FigureAgreement& length = between.figures.front();
  CHECK(length.figure == "terminus_to_apex_mm");
  CHECK(*length.bland_altman.bias.value == doctest::Approx(-0.2));
  CHECK(*length.bland_altman.standard_deviation == doctest::Approx(0.03 * std::sqrt(12.0 / 11.0)));
  CHECK(*length.icc.consistency.value > *length.icc.agreement.value);
  CHECK(length.points.size() == 12);
  const PairAgreement& within = agreement.pairs[1];
  CHECK(within.kind == PairAgreement::Kind::within_reader);
  CHECK(within.first == "A");
  CHECK(within.canals == 6);
  CHECK(*within.figures.front().dahlberg.value == doctest::Approx(0.03 / std::sqrt(2.0)));
  CHECK_FALSE(agreement.joint.reason.empty());
  REQUIRE_FALSE(agreement.spread.empty());
  const statistics::VarianceSplit& split = agreement.spread.front().split;
  CHECK(split.measurements == 30);
  CHECK(*split.within_rater == doctest::Approx(0.03 * 0.03 / 2.0));
  CHECK(*split.stated == doctest::Approx(0.01));
  CHECK(*split.beyond_stated == doctest::Approx(*split.between_raters + *split.within_rater - 0.01));
}

TEST_CASE("verdicts of two readers: table, kappa, and what one of them couldn't assess") {
  const std::vector<std::pair<V, V>> judged{{V::within, V::within},
                                            {V::within, V::within},
                                            {V::within, V::too_close_to_call},
                                            {V::outside, V::outside},
                                            {V::outside, V::within},
                                            {V::too_close_to_call, V::too_close_to_call},
                                            {V::within, V::not_assessable},
                                            {V::not_assessable, V::not_assessable}};
  Rows rows;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    rows.add("film " + std::to_string(i), {canal(1.0, judged[i].first)}).read_by = "A";
    rows.add("film " + std::to_string(i), {canal(1.0, judged[i].second)}).read_by = "B";
  }
  const PairAgreement pair = summarise(head_of(), rows.source()).agreement.pairs.at(0);
  REQUIRE(pair.verdicts.size() == 3);
  const VerdictAgreement& length = pair.verdicts[0];
  CHECK(length.criterion == "length");
  CHECK(length.table == statistics::CategoryTable{{1, 0, 1}, {0, 1, 0}, {0, 1, 2}});
  CHECK(length.not_assessable_once == 1);
  CHECK(length.not_assessable_twice == 1);
  CHECK(*length.simple.observed_agreement == doctest::Approx(4.0 / 6.0));
  CHECK(length.within.both == 2);
  CHECK(length.within.first_only == 1);
  CHECK(length.within.second_only == 1);
  CHECK(length.within.neither == 2);
  CHECK(pair.verdicts[2].criterion.empty());
}

TEST_CASE("three readers of the same films agree all at once; one who read little is left out") {
  Rows rows;
  for (int i = 0; i < 8; ++i)
    for (const std::string reader : {"A", "B", "C", "D"}) {
      if (reader == "D" && i > 0) continue;
      rows.add("film " + std::to_string(i), {canal(0.3 * i + (reader == "B" ? 0.1 : 0.0), V::within)})
          .read_by = reader;
    }
  const JointAgreement joint = summarise(head_of(), rows.source()).agreement.joint;
  CHECK(joint.readers == std::vector<std::string>{"A", "B", "C"});
  CHECK(joint.canals == 8);
  CHECK(joint.figures.front().icc.raters == 3);
  CHECK(*joint.figures.front().icc.consistency.value == doctest::Approx(1.0));
  CHECK(*joint.figures.front().icc.agreement.value < 1.0);
}

TEST_CASE("readings that name nobody are set side by side as such") {
  Rows rows;
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 2; ++k) rows.add("film " + std::to_string(i), {canal(1.0 + 0.1 * k, V::within)});
  const Agreement agreement = summarise(head_of(), rows.source()).agreement;
  REQUIRE(agreement.pairs.size() == 1);
  CHECK(agreement.pairs[0].kind == PairAgreement::Kind::reader_unnamed);
  CHECK(agreement.pairs[0].canals == 3);
}

TEST_CASE("of very many readers of one film those who read most are set side by side, the others counted") {
  Rows rows;
  for (int reader = 0; reader < 100; ++reader)
    for (int film = 0; film < (reader >= 90 ? 2 : 1); ++film)
      rows.add("film " + std::to_string(film), {canal(1.0 + 0.01 * reader, V::within)}).read_by =
          "R" + std::to_string(100 + reader);
  const Agreement agreement = summarise(head_of(), rows.source()).agreement;
  CHECK(agreement.readers_left_out == 40);
  CHECK(agreement.pairs.size() + agreement.pairs_left_out == 60 * 59 / 2);
  CHECK(agreement.pairs.front().first == "R190");
  CHECK(agreement.pairs.front().canals == 2);
}

TEST_CASE("of many readers the pairs with most in common are shown, of many pairs of values some are drawn") {
  Rows rows;
  for (int i = 0; i < 600; ++i)
    for (int reader = 0; reader < (i < 3 ? 6 : 2); ++reader)
      rows.add("film " + std::to_string(i), {canal(0.001 * i + 0.1 * reader, V::within)}).read_by =
          "R" + std::to_string(reader);
  const Agreement agreement = summarise(head_of(), rows.source()).agreement;
  CHECK(agreement.pairs.size() == 12);
  CHECK(agreement.pairs_left_out == 3);  // 15 in all
  CHECK(agreement.pairs.front().canals == 600);
  CHECK(agreement.pairs.front().second == "R1");
  const FigureAgreement& length = agreement.pairs.front().figures.front();
  CHECK(length.bland_altman.pairs == 600);
  REQUIRE(length.points.size() == 500);
  CHECK(length.points.front().first == doctest::Approx(0.0));
  CHECK(length.points.back().first == doctest::Approx(0.598));
}
