#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/record/rubric.hpp>
#include <nlohmann/json.hpp>
#include <random>
#include <string>

using namespace canalrule;
using nlohmann::json;

namespace {

json sample() {
  return json::parse(R"({
    "schema": "canalrule.rubric/1", "name": "N", "version": "3", "source": "S 2012", "note": "chosen here",
    "confidence": 0.9, "pass_mark_percent": 55, "too_close_to_call": "nearest-band", "not_assessable": "no-points",
    "least_assessed_percent": 40, "automatic_fail_percent": 10, "several_canals": "mean",
    "criteria": [
      { "id": "length", "text": "L", "figure": "terminus_to_apex_mm", "points": 2, "not_assessable": "full-points",
        "bands": [ { "less_than": 0, "points": 0, "text": "a" },
                   { "at_least": 0, "at_most": 2, "points": 2, "text": "b" },
                   { "more_than": 2, "points": 1, "text": "c" } ] },
      { "id": "density", "text": "D", "figure": "longest_void_mm", "points": 1,
        "voids": { "score_at_least": 5, "length_at_least_mm": 0.3 },
        "bands": [ { "at_most": 0, "points": 1, "text": "a" }, { "more_than": 0, "points": 0, "text": "b" } ] },
      { "id": "contrast", "text": "C", "figure": "contrast_to_texture", "points": 0.5,
        "bands": [ { "less_than": 3, "points": 0, "text": "a" }, { "at_least": 3, "points": 0.5, "text": "b" } ] } ],
    "deductions": [ { "id": "many", "text": "M", "figure": "void_count", "at_least": 3, "points": 0.5,
                      "voids": { "score_at_least": 5 } } ],
    "automatic_fails": [ { "id": "over", "text": "O", "figure": "terminus_to_apex_mm", "less_than": -2 },
                         { "id": "seen", "text": "P", "observed": "perforation" } ] })");
}

std::string refusal_of(const json& document) {
  try {
    (void)parse_rubric(document.dump(), "r.json");
  } catch (const Refusal& refusal) {
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    return refusal.what();
  }
  return "nothing was refused";
}

std::string message_after(const char* pointer, const char* value) {
  json document = sample();
  const json::json_pointer place(pointer);
  if (std::string(value).empty())
    document.at(place.parent_pointer()).erase(place.back());
  else
    document[place] = json::parse(value);
  return refusal_of(document);
}

bool starts(const std::string& text, const std::string& with) { return text.rfind(with, 0) == 0; }

}  // namespace

TEST_CASE("a rubric is read as it stands") {
  const Rubric rubric = parse_rubric(sample().dump(), "r.json");
  CHECK(rubric.name == "N");
  CHECK(rubric.version == "3");
  CHECK(rubric.confidence == 0.9);
  CHECK(rubric.pass_mark_percent == 55.0);
  CHECK(rubric.too_close_to_call == CloseCall::nearest_band);
  CHECK(rubric.not_assessable == Unassessed::no_points);
  CHECK(rubric.least_assessed_percent == 40.0);
  CHECK(rubric.automatic_fail_percent == 10.0);
  CHECK(rubric.several_canals == SeveralCanals::mean);
  CHECK(rubric.most_points() == 3.5);
  REQUIRE(rubric.criteria.size() == 3);
  CHECK(rubric.criteria[0].not_assessable == Unassessed::full_points);
  CHECK_FALSE(rubric.criteria[1].not_assessable.has_value());
  CHECK(rubric.criteria[0].bands[1].lower->inclusive);
  CHECK_FALSE(rubric.criteria[0].bands[2].lower->inclusive);
  CHECK(rubric.criteria[1].looked.voids.least_length_mm == 0.3);
  CHECK(rubric.criteria[2].looked.figure == RubricFigure(FilmFigure::contrast_to_texture));
  CHECK(rubric.deductions[0].points == 0.5);
  CHECK(std::get<MeasuredCondition>(rubric.automatic_fails[0].when).upper->value == -2.0);
  CHECK(std::get<ObservedCondition>(rubric.automatic_fails[1].when).column == "perforation");
}

TEST_CASE("what is left out has the default that the schema says") {
  json document = sample();
  for (const char* key :
       {"too_close_to_call", "not_assessable", "least_assessed_percent", "automatic_fail_percent",
        "several_canals", "deductions", "automatic_fails", "note"})
    document.erase(key);
  const Rubric rubric = parse_rubric(document.dump(), "r.json");
  CHECK(rubric.too_close_to_call == CloseCall::benefit_of_the_doubt);
  CHECK(rubric.not_assessable == Unassessed::left_out);
  CHECK(rubric.several_canals == SeveralCanals::worst);
  CHECK(rubric.automatic_fails.empty());
}

TEST_CASE("bands that don't tile the line are refused, and which of them is said") {
  CHECK(starts(message_after("/criteria/0/bands/1/at_most", "1.5"),
               "r.json: /criteria/0/bands/2: there is a gap between this band and the one before it"));
  CHECK(starts(message_after("/criteria/0/bands/1/at_most", "2.5"),
               "r.json: /criteria/0/bands/2: this band overlaps the one before it"));
  json both = sample();
  both["criteria"][0]["bands"][2] = json::parse(R"({ "at_least": 2, "points": 1, "text": "c" })");
  CHECK(starts(refusal_of(both), "r.json: /criteria/0/bands/2: this band overlaps"));
  json neither = sample();
  neither["criteria"][0]["bands"][1] =
      json::parse(R"({ "at_least": 0, "less_than": 2, "points": 2, "text": "b" })");
  CHECK(starts(refusal_of(neither), "r.json: /criteria/0/bands/2: there is a gap"));
  CHECK(starts(message_after("/criteria/0/bands/0/at_least", "-5"),
               "r.json: /criteria/0/bands/0: the first band"));
  CHECK(starts(message_after("/criteria/0/bands/2/at_most", "9"),
               "r.json: /criteria/0/bands/2: the last band"));
  CHECK(starts(message_after("/criteria/0/bands/1/at_most", ""),
               "r.json: /criteria/0/bands/1: this band has no upper"));
}

TEST_CASE("of tilings drawn at random all are read, and none with a moved edge") {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> place(-4.0, 4.0);
  for (int n = 0; n < 200; ++n) {
    std::vector<double> edges(1 + random() % 5);
    for (double& edge : edges) edge = place(random);
    std::sort(edges.begin(), edges.end());
    json document = sample();
    json bands = json::array();
    for (std::size_t i = 0; i <= edges.size(); ++i) {
      json band{{"points", i == 0 ? 2.0 : 1.0}, {"text", "t"}};
      if (i > 0) band[i % 2 == 0 ? "at_least" : "more_than"] = edges[i - 1];
      if (i < edges.size()) band[i % 2 == 0 ? "at_most" : "less_than"] = edges[i];
      bands.push_back(band);
    }
    for (std::size_t i = 0; i + 1 < bands.size(); ++i) {
      const bool taken = bands[i].contains("at_most");
      bands[i + 1].erase("at_least");
      bands[i + 1].erase("more_than");
      bands[i + 1][taken ? "more_than" : "at_least"] = edges[i];
    }
    document["criteria"][0]["bands"] = bands;
    document.erase("automatic_fails");
    REQUIRE(parse_rubric(document.dump(), "r.json").criteria[0].bands.size() == edges.size() + 1);
    const std::size_t moved = random() % edges.size();
    const char* key = bands[moved].contains("at_most") ? "at_most" : "less_than";
    document["criteria"][0]["bands"][moved][key] = edges[moved] + (n % 2 == 0 ? 0.001 : -0.001);
    REQUIRE(refusal_of(document) != "nothing was refused");
  }
}

TEST_CASE("a worse value never earns more") {
  json more = sample();
  more["criteria"][1]["bands"] = json::parse(R"([ { "at_most": 0, "points": 0, "text": "a" },
                                                 { "more_than": 0, "points": 1, "text": "b" } ])");
  CHECK(starts(refusal_of(more), "r.json: /criteria/1/bands/1/points: this band is worse"));
  json less = sample();
  less["criteria"][2]["bands"][0]["points"] = 0.5;
  less["criteria"][2]["bands"][1]["points"] = 0.25;
  CHECK(starts(refusal_of(less), "r.json: /criteria/2/bands/1/points: more of this figure is better"));
  json valley = sample();
  valley["criteria"][0]["bands"] = json::parse(
      R"([ { "less_than": 0, "points": 2, "text": "a" }, { "at_least": 0, "at_most": 2, "points": 1, "text": "b" },
           { "more_than": 2, "points": 2, "text": "c" } ])");
  CHECK(starts(refusal_of(valley), "r.json: /criteria/0/bands/2/points: this band is worse"));
}

TEST_CASE("points that nobody can earn, and limits at the good end, are refused") {
  CHECK(starts(message_after("/criteria/0/points", "3"), "r.json: /criteria/0/bands: no band earns"));
  CHECK(starts(message_after("/criteria/0/bands/1/points", "2.5"), "r.json: /criteria/0/bands/1/points"));
  CHECK(starts(message_after("/deductions/0/at_most", "5"),
               "r.json: /deductions/0: this condition has a limit at both"));
  json good_end = sample();
  good_end["deductions"][0].erase("at_least");
  good_end["deductions"][0]["at_most"] = 0;
  CHECK(starts(refusal_of(good_end), "r.json: /deductions/0: less of this figure is better"));
  CHECK(starts(message_after("/automatic_fails/0/less_than", "0.5"),
               "r.json: /automatic_fails/0: this reaches into the band that earns full points for 'length'"));
  CHECK(parse_rubric(sample().dump(), "r.json").automatic_fails.size() == 2);
}

TEST_CASE("every other wrong field is refused by its pointer") {
  CHECK(starts(message_after("/schema", "\"canalrule.rubric/2\""), "r.json: /schema"));
  CHECK(starts(message_after("/name", ""), "r.json: /name: this field is missing"));
  CHECK(starts(message_after("/confidence", "0.5"), "r.json: /confidence"));
  CHECK(starts(message_after("/pass_mark_percent", "101"), "r.json: /pass_mark_percent"));
  CHECK(starts(message_after("/automatic_fail_percent", "55"), "r.json: /automatic_fail_percent"));
  CHECK(starts(message_after("/too_close_to_call", "\"kind\""), "r.json: /too_close_to_call"));
  CHECK(starts(message_after("/several_canals", "\"best\""), "r.json: /several_canals"));
  CHECK(starts(message_after("/criteria/0/figure", "\"colour\""),
               "r.json: /criteria/0/figure: found 'colour'"));
  CHECK(starts(message_after("/criteria/1/voids", ""), "r.json: /criteria/1/voids: this field is missing"));
  CHECK(starts(message_after("/criteria/0/voids", "{ \"score_at_least\": 5 }"), "r.json: /criteria/0/voids"));
  CHECK(
      starts(message_after("/criteria/1/id", "\"length\""), "r.json: /criteria/1/id: this id stands twice"));
  CHECK(starts(message_after("/automatic_fails/1/id", "\"many\""), "r.json: /automatic_fails/1/id"));
  CHECK(starts(message_after("/automatic_fails/1/figure", "\"blur_mm\""),
               "r.json: /automatic_fails/1/observed"));
  CHECK(starts(message_after("/deductions/0/points", "0"), "r.json: /deductions/0/points"));
  CHECK(message_after("/too_close_to_cal", "\"no-benefit\"").find("'too_close_to_cal' means nothing here") !=
        std::string::npos);
  CHECK(message_after("/criteria/0/bands/0/at_lest", "1").find("/criteria/0/bands/0: the key 'at_lest'") !=
        std::string::npos);
}

TEST_CASE("the rubrics that ship are read and name a published source") {
  for (const char* name : {"three-level", "escribano-2023"}) {
    CAPTURE(name);
    const Rubric rubric = load_rubric(std::string(CANALRULE_SOURCE_DIR) + "/docs/rubrics/" + name + ".json");
    CHECK(rubric.source.find("20") != std::string::npos);
    CHECK(rubric.most_points() == doctest::Approx(6.0));
    CHECK_FALSE(rubric.note.empty());
  }
}
