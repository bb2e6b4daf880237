#include <doctest/doctest.h>

#include <functional>
#include <string>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/reading.hpp>

#include "samples.hpp"

using namespace canalrule;
using canalrule_test::full_reading;
using canalrule_test::full_reading_json;
using nlohmann::json;

namespace {

Refusal refusal_of(const std::string& text) {
  try {
    (void)parse_reading(text, "case.reading.json");
  } catch (const Refusal& refusal) {
    return refusal;
  }
  FAIL("nothing was refused");
  return Refusal(RefusalKind::wrong_use, "", "", "", "");
}

struct Fault {
  const char* pointer;   ///< what is changed
  const char* value;     ///< to what, as JSON; empty: the field is removed
  const char* found;     ///< what the refusal says
  const char* expected;
  const char* field = nullptr;  ///< the pointer it names, where that isn't `pointer`
};

void set(json& document, const Fault& fault) {
  const json::json_pointer pointer(fault.pointer);
  if (std::string(fault.value).empty()) document.at(pointer.parent_pointer()).erase(pointer.back());
  else document[pointer] = json::parse(fault.value);
}

}  // namespace

TEST_CASE("every field of the contract is read") {
  const Reading reading = parse_reading(full_reading, "case.reading.json");
  CHECK(reading.image.file == "molar.png");
  CHECK(reading.image.sha256 == "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff");
  CHECK(reading.image.columns == 1100);
  CHECK(reading.image.rows == 1500);
  CHECK(reading.reader == "A1");
  CHECK(reading.tooth == "36");
  CHECK(reading.note == "second film of the visit");
  CHECK_FALSE(reading.not_assessable);
  CHECK(reading.radiopaque == Radiopaque::bright);
  CHECK(reading.response == Response::log);
  REQUIRE(reading.scale.size() == 3);
  const auto& length = std::get<KnownLength>(reading.scale[0]);
  CHECK(length.points == Polyline{{10, 20}, {10.5, 400.25}, {30, 720}});
  CHECK(length.length_mm == 21.0);
  CHECK(length.length_uncertainty_mm == 0.25);
  const auto& width = std::get<KnownWidth>(reading.scale[1]);
  CHECK(width.points == Polyline{{100, 20}, {120, 20}});
  CHECK(width.width_mm == 0.5);
  CHECK(width.width_uncertainty_mm == 0.01);
  const auto& carried = std::get<CarriedLength>(reading.scale[2]);
  CHECK(carried.points == Polyline{{1, 2}, {3, 400}});
  CHECK(carried.from_reading == "working-length.reading.json");
  CHECK(carried.from_points == Polyline{{5, 6}, {7, 410}});
  REQUIRE(reading.canals.size() == 2);
  const CanalMarks& canal = reading.canals[0];
  CHECK(canal.name == "ML");
  CHECK(canal.path == Polyline{{300, 100}, {310, 500.5}, {330, 900}});
  CHECK(canal.apex == Point{331, 905});
  CHECK(canal.apex_uncertainty_mm == 0.2);
  REQUIRE(canal.planned);
  CHECK(canal.planned->tip_diameter_mm == 0.25);
  CHECK(canal.planned->taper == 0.08);
  CHECK(canal.planned->working_length_mm == 20.0);
  CHECK(canal.planned->backfill_from_mm == 5.0);
  CHECK(canal.coronal_reference == Point{295, 60});
  CHECK_FALSE(reading.canals[1].planned);
  CHECK_FALSE(reading.canals[1].coronal_reference);
  CHECK(canal.line == LineSource::drawn);
  CHECK(reading.canals[1].line == LineSource::proposed);
}

TEST_CASE("a film that its reader found not assessable needs no canal") {
  json document = full_reading_json();
  document["canals"] = json::array();
  CHECK_THROWS_AS(parse_reading(document.dump(), "x"), Refusal);
  document["not_assessable"] = "the apex is off the film";
  const Reading reading = parse_reading(document.dump(), "x");
  CHECK(reading.canals.empty());
  CHECK(reading.not_assessable == "the apex is off the film");
  CHECK(json::parse(write_reading(reading)) == document);
  document["not_assessable"] = " ";
  CHECK_THROWS_AS(parse_reading(document.dump(), "x"), Refusal);
}

TEST_CASE("what is optional may be missing") {
  const Reading reading = parse_reading(
      R"({"schema":"canalrule.reading/1","image":{"file":"a.dcm"},
          "canals":[{"name":"1","path":[[0,0],[0,9]],"apex":[0,9],"planned":{}}]})", "x");
  CHECK_FALSE(reading.image.sha256);
  CHECK_FALSE(reading.image.columns);
  CHECK(reading.reader.empty());
  CHECK(reading.tooth.empty());
  CHECK_FALSE(reading.radiopaque);
  CHECK_FALSE(reading.response);
  CHECK(reading.scale.empty());
  REQUIRE(reading.canals[0].planned);
  CHECK_FALSE(reading.canals[0].planned->taper);
}

TEST_CASE("a SHA-256 in capitals is the same as in small letters") {
  json document = full_reading_json();
  document["image"]["sha256"] = std::string(64, 'A');
  CHECK(parse_reading(document.dump(), "x").image.sha256 == std::string(64, 'a'));
}

TEST_CASE("a field that can't be taken is refused by its pointer, with what was found and expected") {
  const std::string many_names = R"([{"name":"A","path":[[0,0],[9,9]],"apex":[9,9]},)"
                                 R"({"name":"A","path":[[0,0],[9,9]],"apex":[9,9]}])";
  const std::vector<Fault> faults{
      {"/schema", "", "missing", ""},
      {"/schema", "\"canalrule.reading/2\"", "'canalrule.reading/2'", "'canalrule.reading/1'"},
      {"/schema", "1", "found 1", "text"},
      {"/image", "", "missing", ""},
      {"/image", "[]", "an array of 0", "an object"},
      {"/image/file", "", "missing", ""},
      {"/image/file", "\"  \"", "'  '", "not empty"},
      {"/image/file", "\"a\\nb\"", "'a\nb'", "one line"},
      {"/image/file", "\"a\\u0000b\"", "'a", "one line"},
      {"/image/sha256", "\"12\"", "'12'", "64 hexadecimal digits"},
      {"/image/columns", "0", "found 0", "a whole number from 1 to 100000000"},
      {"/image/columns", "10.5", "found 10.5", "a whole number"},
      {"/image/rows", "1e300", "found 1e+300", "a whole number"},
      {"/image/rows", "\"1500\"", "'1500'", "a whole number"},
      {"/reader", "7", "found 7", "text"},
      {"/tooth", "\"39\"", "'39'", "ISO 3950"},
      {"/tooth", "\"56\"", "'56'", "ISO 3950"},
      {"/tooth", "\"91\"", "'91'", "ISO 3950"},
      {"/tooth", "\"3\"", "'3'", "ISO 3950"},
      {"/tooth", "\"10\"", "'10'", "ISO 3950"},
      {"/tooth", "36", "found 36", "text"},
      {"/radiopaque", "\"white\"", "'white'", "'bright', 'dark'"},
      {"/response", "\"gamma\"", "'gamma'", "'log', 'linear', 'display'"},
      {"/response", "null", "found null", "text"},
      {"/scale", "{}", "an object", "an array"},
      {"/scale/0/kind", "\"length\"", "'length'", "'known-length', 'known-width', 'carried-length'"},
      {"/scale/0/length_mm", "", "missing", ""},
      {"/scale/0/length_mm", "0", "found 0", "a number above 0, at most 100"},
      {"/scale/0/length_mm", "100.5", "found 100.5", "at most 100"},
      {"/scale/0/length_uncertainty_mm", "0", "found 0", "above 0"},
      {"/scale/0/points", "[[1,2]]", "an array of 1", "2 or more points"},
      {"/scale/0/points", "[[1,2],[1,2],[1.5,2]]", "one place", "a pixel or more apart"},
      {"/scale/0/points/1", "[1]", "an array of 1", "a point [x, y]"},
      {"/scale/0/points/1", "[1,2,3]", "an array of 3", "a point [x, y]"},
      {"/scale/0/points/1/0", "\"4\"", "'4'", "a number from -1000000 to 1000000"},
      {"/scale/0/points/2/1", "1e7", "found 10000000.0", "a number from -1000000 to 1000000"},
      {"/scale/1/width_mm", "-0.5", "found -0.5", "a number above 0, at most 10"},
      {"/scale/1/points", "[[1,2],[3,4],[5,6]]", "an array of 3", "exactly 2 points"},
      {"/scale/2/from", "", "missing", ""},
      {"/scale/2/from/reading", "3", "found 3", "text"},
      {"/scale/2/from/points", "[[1,2]]", "an array of 1", "exactly 2 points"},
      {"/canals", "", "missing", ""},
      {"/canals", "[]", "an array of 0", "an array of 1 or more"},
      {"/canals", many_names.c_str(), "'A' stands on two canals", "its own", "/canals/1/name"},
      {"/canals/0", "\"ML\"", "'ML'", "an object"},
      {"/canals/1/name", "\"\"", "''", "not empty"},
      {"/canals/0/path", "", "missing", ""},
      {"/canals/0/path", "[[5,5],[5,5]]", "one place", "a pixel or more apart"},
      {"/canals/0/path/1/1", "null", "found null", "a number"},
      {"/canals/1/apex", "", "missing", ""},
      {"/canals/1/apex", "[[1,2],[3,4]]", "an array of 2", "a number", "/canals/1/apex/0"},
      {"/canals/0/apex_uncertainty_mm", "-1", "found -1", "above 0"},
      {"/canals/0/planned", "[1]", "an array of 1", "an object"},
      {"/canals/0/planned/taper", "8", "found 8", "a number from 0 to 0.5"},
      {"/canals/0/planned/tip_diameter_mm", "0", "found 0", "above 0"},
      {"/canals/0/planned/working_length_mm", "true", "found true", "a number above 0"},
      {"/canals/0/coronal_reference", "{}", "an object", "a point [x, y]"},
  };
  for (const Fault& fault : faults) {
    CAPTURE(fault.pointer);
    CAPTURE(fault.value);
    json document = full_reading_json();
    set(document, fault);
    const Refusal refusal = refusal_of(document.dump());
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    CHECK(refusal.where() == "case.reading.json");
    CHECK(refusal.field() == (fault.field != nullptr ? fault.field : fault.pointer));
    CHECK(refusal.problem().find(fault.found) != std::string::npos);
    CHECK(refusal.remedy().find(fault.expected) != std::string::npos);
    CHECK(std::string(refusal.what()).find('\n') == std::string::npos);
  }
}

TEST_CASE("a field that looks like a known one which is missing is told, any other unknown one is not") {
  json document = full_reading_json();
  CHECK(parse_reading(document.dump(), "x").misspelt.empty());
  json& canal = document["canals"][0];
  document["sensor"] = "plate 2";
  document["history"] = json::object();
  canal["remark"] = "curved";
  CHECK(parse_reading(document.dump(), "x").misspelt.empty());
  canal["apex_mark"] = json::array();  // the right one is there as well
  canal["apex_marks"] = json{{1.0, 2.0}, {1.0, 2.5}, {1.5, 2.0}};
  CHECK(parse_reading(document.dump(), "x").misspelt.empty());
  canal.erase("apex_marks");
  canal.erase("apex_uncertainty_mm");
  canal["apex_uncertainty"] = 0.3;
  document.erase("tooth");
  document["tooht"] = "36";
  const std::vector<MisspeltField> found = parse_reading(document.dump(), "x").misspelt;
  REQUIRE(found.size() == 3);
  CHECK((found[0].pointer == "/tooht" && found[0].expected == "tooth"));
  CHECK((found[1].pointer == "/canals/0/apex_mark" && found[1].expected == "apex_marks"));
  CHECK((found[2].pointer == "/canals/0/apex_uncertainty" && found[2].expected == "apex_uncertainty_mm"));
}

TEST_CASE("every tooth of ISO 3950 is taken") {
  json document = full_reading_json();
  int teeth = 0;
  for (int quadrant = 1; quadrant <= 8; ++quadrant)
    for (int place = 1; place <= (quadrant <= 4 ? 8 : 5); ++place) {
      document["tooth"] = std::to_string(10 * quadrant + place);
      CHECK(parse_reading(document.dump(), "x").tooth == document["tooth"]);
      ++teeth;
    }
  CHECK(teeth == 52);  // 32 permanent teeth, 20 deciduous
}

TEST_CASE("what is not JSON is refused with line and column") {
  CHECK(refusal_of("{\n  \"schema\": tru\n}").problem() ==
        "not JSON at line 2, column 16, near '\"schema\": tru<U+000A>'");
  CHECK(refusal_of("{ \"a\": NaN }").problem().find("line 1, column 8") != std::string::npos);
  CHECK(refusal_of("{ \"é\": Infinity }").problem().find("line 1, column 8") != std::string::npos);
  CHECK(refusal_of("{\n\"a\": 1,\n}").problem().find("line 3, column 1") != std::string::npos);
  CHECK(refusal_of("{ \"a\": 1e999 }").problem() == "the number 1e999 at line 1, column 12 is too large");
  CHECK(refusal_of("{ \"a\": [1, 2").problem().find("ends too early") != std::string::npos);
  CHECK(refusal_of("").problem().find("ends too early") != std::string::npos);
  CHECK(refusal_of("{} {}").problem().find("line 1, column 4") != std::string::npos);
  CHECK(refusal_of("{\"a\": \"\xff\"}").problem() == "not JSON at line 1, column 8, near '\"?'");
  CHECK(refusal_of("null").problem() == "found null");
}

TEST_CASE("a key that stands twice is refused, at any depth") {
  CHECK(refusal_of(R"({"schema":"canalrule.reading/1","schema":"canalrule.reading/1"})").problem() ==
        "the key 'schema' stands twice in one object");
  CHECK(refusal_of(R"({"canals":[{"x":{"deep":1,"deep":1}}]})").problem().find("'deep'") !=
        std::string::npos);
  CHECK(refusal_of(R"({"a":{"k":1},"b":{"k":1}})").field() == "/schema");
}

TEST_CASE("deep nesting is refused before it can exhaust the stack") {
  const std::string deep = std::string(1'000'000, '[');
  CHECK(refusal_of(deep).problem().find("nested more than 64 deep") != std::string::npos);
}

TEST_CASE("a long value found is shortened in the message") {
  json document = full_reading_json();
  document["tooth"] = std::string(3000, 'x');
  CHECK(refusal_of(document.dump()).problem().size() < 80);
}

TEST_CASE("a file that is missing is refused by its name") {
  CHECK_THROWS_WITH_AS((void)load_reading("no-such.reading.json"), doctest::Contains("no-such.reading.json"),
                       Refusal);
}
