#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include <nlohmann/json.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/criteria.hpp>

using namespace canalrule;
using nlohmann::json;

namespace {

json sample() {
  return json::parse(R"({
    "schema": "canalrule.criteria/1", "name": "N", "version": "2", "source": "S 2012", "note": "chosen here",
    "confidence": 0.9,
    "criteria": [
      { "id": "length", "text": "T", "figure": "terminus_to_apex_mm", "more_than": 0, "at_most": 2 },
      { "id": "density", "text": "D", "figure": "longest_void_mm", "less_than": 1,
        "voids": { "score_at_least": 5, "length_at_least_mm": 0.3, "deficit_at_least": 0.1,
                   "third": "apical" } } ] })");
}

std::string message_after(const char* pointer, const char* value) {
  json document = sample();
  const json::json_pointer place(pointer);
  if (std::string(value).empty()) document.at(place.parent_pointer()).erase(place.back());
  else document[place] = json::parse(value);
  try {
    (void)parse_criteria(document.dump(), "c.json");
  } catch (const Refusal& refusal) {
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    return refusal.what();
  }
  return "nothing was refused";
}

bool starts(const std::string& text, const std::string& with) { return text.rfind(with, 0) == 0; }

}  // namespace

TEST_CASE("criteria are read, the edges by their words") {
  const Criteria criteria = parse_criteria(sample().dump(), "c.json");
  CHECK(criteria.name == "N");
  CHECK(criteria.version == "2");
  CHECK(criteria.source == "S 2012");
  CHECK(criteria.note == "chosen here");
  CHECK(criteria.confidence == 0.9);
  REQUIRE(criteria.criteria.size() == 2);
  const Criterion& length = criteria.criteria[0];
  CHECK(length.figure == CriterionFigure::terminus_to_apex_mm);
  REQUIRE((length.lower && length.upper));
  CHECK(length.lower->value == 0.0);
  CHECK_FALSE(length.lower->inclusive);
  CHECK(length.upper->value == 2.0);
  CHECK(length.upper->inclusive);
  const Criterion& density = criteria.criteria[1];
  CHECK_FALSE(density.lower);
  CHECK_FALSE(density.upper->inclusive);
  CHECK(density.voids.least_score == 5.0);
  CHECK(density.voids.least_length_mm == 0.3);
  CHECK(density.voids.least_deficit == 0.1);
  CHECK(density.voids.third == Third::apical);
}

TEST_CASE("criteria that can't be judged by are refused by their pointer") {
  CHECK(starts(message_after("/schema", "\"canalrule.criteria/2\""),
               "c.json: /schema: found 'canalrule.criteria/2'"));
  CHECK(starts(message_after("/source", ""), "c.json: /source: this field is missing"));
  CHECK(starts(message_after("/confidence", "0.5"), "c.json: /confidence: found 0.5"));
  CHECK(starts(message_after("/confidence", "1"), "c.json: /confidence: found 1;"));
  CHECK(starts(message_after("/criteria", "[]"), "c.json: /criteria: found an array of 0"));
  CHECK(starts(message_after("/criteria/0/figure", "\"length\""),
               "c.json: /criteria/0/figure: found 'length'; expected one of"));
  CHECK(starts(message_after("/criteria/0/at_least", "1"),
               "c.json: /criteria/0/more_than: stands beside at_least"));
  CHECK(starts(message_after("/criteria/0/at_most", "-1"),
               "c.json: /criteria/0: the limits leave nothing between"));
  CHECK(starts(message_after("/criteria/0/at_most", "0"),
               "c.json: /criteria/0: the limits leave nothing between"));
  CHECK(
      starts(message_after("/criteria/1/less_than", ""), "c.json: /criteria/1: this criterion has no limit"));
  CHECK(starts(message_after("/criteria/1/at_least", "0"),
               "c.json: /criteria/1: this figure is the largest of all"));
  CHECK(starts(message_after("/criteria/1/voids", ""), "c.json: /criteria/1/voids: this field is missing"));
  CHECK(starts(message_after("/criteria/1/voids/score_at_least", ""),
               "c.json: /criteria/1/voids/score_at_least: this field"));
  CHECK(starts(message_after("/criteria/1/voids/third", "\"last\""),
               "c.json: /criteria/1/voids/third: found 'last'"));
  CHECK(starts(message_after("/criteria/0/at_moost", "3"),
               "c.json: /criteria/0: the key 'at_moost' means nothing here"));
  CHECK(starts(message_after("/confidance", "0.9"), "c.json: the key 'confidance' means nothing here"));
  CHECK(starts(message_after("/criteria/1/voids/score", "5"),
               "c.json: /criteria/1/voids: the key 'score' means nothing here"));
  CHECK(starts(message_after("/criteria/0/voids", "{\"score_at_least\": 5}"),
               "c.json: /criteria/0/voids: this criterion doesn't look at voids"));
  CHECK(starts(message_after("/criteria/1/less_than", "0"), "c.json: /criteria/1: no fill could keep this limit"));
  CHECK(starts(message_after("/criteria/1/id", "\"length\""),
               "c.json: /criteria/1/id: this id stands on two criteria"));
}

TEST_CASE("both limits may be one value that is included") {
  json document = sample();
  document["criteria"][0] = json::parse(
      R"({ "id": "length", "text": "T", "figure": "filled_length_mm", "at_least": 3, "at_most": 3 })");
  CHECK(parse_criteria(document.dump(), "c.json").criteria[0].lower->value == 3.0);
}

TEST_CASE("every shipped criteria file is read, names its source and says what was chosen here") {
  int files = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(CANALRULE_SOURCE_DIR) + "/docs/criteria")) {
    CAPTURE(entry.path().string());
    const Criteria criteria = load_criteria(entry.path());
    CHECK(criteria.source.find(" 20") != std::string::npos);  // the year
    for (const Criterion& criterion : criteria.criteria)
      if (criterion.figure != CriterionFigure::terminus_to_apex_mm)
        CHECK(criteria.note.find("Chosen here") != std::string::npos);
    ++files;
  }
  CHECK(files >= 6);
}

TEST_CASE("the length limits of the shipped criteria are those of their sources") {
  const auto length = [](const char* name) {
    const Criteria criteria =
        load_criteria(std::string(CANALRULE_SOURCE_DIR) + "/docs/criteria/" + name + ".json");
    const Criterion& first = criteria.criteria.at(0);
    REQUIRE(first.figure == CriterionFigure::terminus_to_apex_mm);
    return std::pair(first.lower->value, first.upper->value);
  };
  CHECK(length("elemam-2015") == std::pair(0.5, 2.0));
  CHECK(length("liang-2012") == std::pair(0.0, 2.0));
  CHECK(length("lin-2005") == std::pair(0.0, 2.0));
  CHECK(length("ng-2008") == std::pair(0.0, 2.0));
  CHECK(length("vukadinov-2014") == std::pair(0.0, 3.0));
  CHECK(length("default") == std::pair(0.0, 2.0));
}
