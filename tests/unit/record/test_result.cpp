#include <doctest/doctest.h>

#include <functional>
#include <set>
#include <string>

#include <nlohmann/json.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/result.hpp>

using namespace canalrule;
using nlohmann::json;

namespace {

CanalResult full_canal() {
  CanalResult canal;
  canal.name = "ML";
  canal.terminus = Terminus{{310.12345, 905.5}, 1.234567, 0.0612345, Side::short_of,
                            {{"scale", 0.01}, {"apex mark", 0.05, "an assumption"}}};
  canal.coronal_level_mm = Quantity{12.8, 0.1};
  canal.filled_length_mm = Quantity{11.6, 0.12};
  canal.material_beyond_apex = {{"apart", -0.9, -0.4, {0.5, 0.05}, {0.12, 0.02}, {320, 950}}};
  canal.empty_canal = EmptyCanal{true, 0.1, 1.1, 4.2};
  canal.root_end = RootEnd{{-0.15, 0.08}, 6.5, {331, 910}};
  Void found;
  found.from_mm = 4.8;
  found.to_mm = 5.4;
  found.length_mm = {0.6, 0.05};
  found.width_mm = {0.3, 0.04};
  found.deficit = {0.35, 0.03};
  found.score = 7.2;
  found.kind = VoidKind::along_wall;
  found.third = Third::middle;
  found.position = {315, 700};
  found.at_backfill = true;
  canal.voids = {found};
  canal.width = {{2.0, 0.41, 0.02}, {2.5, 0.45, 0.02}};
  canal.taper = {Quantity{0.079, 0.001},
                 Quantity{0.08, 0.004},
                 Quantity{0.078, 0.003},
                 Quantity{0.0754321, 0.002},
                 {{6.0, "step", {0.12, 0.03}, 4.0}},
                 Reversal{{0.05, 0.02}, 7.0, 8.5}};
  canal.curvature_deg = Quantity{22.5, 3.0};
  canal.against_plan.width = {{2.0, 0.41, 0.0, 0.02}};
  canal.against_plan.mean_width_difference_mm = Quantity{-0.01, 0.01};
  canal.against_plan.fill_length_from_reference_mm = Quantity{19.3, 0.2};
  canal.against_plan.terminus_to_working_length_mm = Quantity{0.7, 0.2};
  canal.against_plan.gap_at_backfill = true;
  canal.film = {3.4, 0.05, 6.5};
  canal.drawn_path = {{300, 100}, {310, 500.5}, {330, 900}};
  canal.centre_line = {{1.3, {310, 905}, 6.5}, {1.4, {310, 900}, std::nullopt}};
  canal.not_assessable = {{"taper.coronal", 8.0, 12.8, "overlap", "The other fill lies over it."},
                          {"curvature_deg", {}, {}, "straight", "The drawn canal has no bend."}};
  canal.warnings = {{"overlap", "Two fills overlap."}};
  return canal;
}

Result full_result() {
  Result result;
  result.scale = {0.0298, 0.0001, "pooled", Quantity{0.0301, 0.0002}, 1.0,
                  {{"known-length", "21 mm on this film", {0.0298, 0.0001},
                    SetOnFilm{-0.12, 0.05, {{290, 60}, {330, 900}}}}}, 1.2, Quantity{1.01, 0.004}};
  result.canals = {full_canal(), CanalResult{}};
  result.canals[1].name = "MB";
  result.warnings = {{"clipped-grey", "2 % of the film is at its darkest."}};
  result.film = {1100, 1500, "DICOM, JPEG lossless", 12, "log", "DICOM", "bright", "DICOM", 4.2, 0.02,
                 0.05, 0.1};
  result.provenance = {"canalrule 0.1.0", "4.6.0", "molar.dcm", std::string(64, 'a'), "molar.reading.json",
                       std::string(64, 'b'), "A1", "36"};
  result.judged = Judged{"Name",
                         "1",
                         "Source",
                         {{"ML", "length", "Ends within 2 mm", "0 to 2 mm", Verdict::within, 0.9988,
                           Quantity{1.2346, 0.0612}, "mm", ""},
                          {"MB", "length", "Ends within 2 mm", "0 to 2 mm", Verdict::not_assessable,
                           std::nullopt, std::nullopt, "mm", "no fill"}}};
  result.cautions = {"A projection, not a volume."};
  return result;
}

json written(const Result& result) { return json::parse(write_result(result)); }

}  // namespace

TEST_CASE("the names and values of the contract stand in the result") {
  const json out = written(full_result());
  CHECK(out["schema"] == "canalrule.result/1");
  CHECK(out["scale"]["mm_per_pixel"] == 0.0298);
  CHECK(out["scale"]["standard_uncertainty"] == 0.0001);
  CHECK(out["scale"]["source"] == "pooled");
  const json& canal = out["canals"][0];
  CHECK(canal["name"] == "ML");
  CHECK(canal["terminus"]["position"] == json::parse("[310.123, 905.5]"));
  CHECK(canal["terminus"]["to_apex_mm"] == 1.2346);
  CHECK(canal["terminus"]["standard_uncertainty_mm"] == 0.0612);
  CHECK(canal["terminus"]["side"] == "short");
  CHECK(canal["coronal_level_mm"] == 12.8);
  CHECK(canal["filled_length_mm"] == 11.6);
  const json& found = canal["voids"][0];
  CHECK(found["from_mm"] == 4.8);
  CHECK(found["to_mm"] == 5.4);
  CHECK(found["length_mm"] == 0.6);
  CHECK(found["deficit"] == 0.35);
  CHECK(found["score"] == 7.2);
  CHECK(canal["width"][0] ==
        json::parse(R"({"at_mm": 2, "width_mm": 0.41, "standard_uncertainty_mm": 0.02})"));
  CHECK(canal["taper"]["overall"] == 0.079);
  CHECK(canal["taper"]["apical"] == 0.08);
  CHECK(canal["taper"]["middle"] == 0.078);
  CHECK(canal["taper"]["coronal"] == 0.07543);
  CHECK(canal["taper"]["standard_uncertainty"]["overall"] == 0.001);
  CHECK(canal["not_assessable"][0] ==
        json::parse(R"({"figure": "taper.coronal", "from_mm": 8, "to_mm": 12.8, "reason": "overlap",
                        "text": "The other fill lies over it."})"));
  CHECK_FALSE(canal["not_assessable"][1].contains("from_mm"));
  CHECK(canal["warnings"][0] == json::parse(R"({"code": "overlap", "text": "Two fills overlap."})"));
  CHECK(out["warnings"][0]["code"] == "clipped-grey");
}

TEST_CASE("the standard uncertainty of each further figure stands beside it") {
  const json out = written(full_result());
  const json& canal = out["canals"][0];
  CHECK(canal["coronal_level_standard_uncertainty_mm"] == 0.1);
  CHECK(canal["filled_length_standard_uncertainty_mm"] == 0.12);
  CHECK(canal["voids"][0]["length_standard_uncertainty_mm"] == 0.05);
  CHECK(canal["voids"][0]["deficit_standard_uncertainty"] == 0.03);
  CHECK(canal["curvature_standard_uncertainty_deg"] == 3);
  CHECK(canal["against_plan"]["terminus_to_working_length_standard_uncertainty_mm"] == 0.2);
}

TEST_CASE("a missing figure is null, never left out and never nought") {
  const json full = written(full_result());
  const json& all = full["canals"][0];
  const json& none = full["canals"][1];
  const auto keys = [](const json& object) {
    std::set<std::string> names;
    for (const auto& [key, value] : object.items()) names.insert(key);
    return names;
  };
  CHECK(keys(none) == keys(all));
  for (const char* key : {"taper", "against_plan", "film"}) CHECK(keys(none[key]) == keys(all[key]));
  for (const char* key : {"terminus", "coronal_level_mm", "coronal_level_standard_uncertainty_mm",
                          "filled_length_mm", "voids", "empty_canal", "curvature_deg"})
    CHECK(none[key].is_null());
  for (const char* key : {"overall", "apical", "middle", "coronal"}) {
    CHECK(none["taper"][key].is_null());
    CHECK(none["taper"]["standard_uncertainty"][key].is_null());
  }
  CHECK(none["taper"]["largest_reversal"].is_null());
  CHECK(none["width"] == json::array());
}

TEST_CASE("a result read back and written again is the same bytes") {
  const std::string once = write_result(full_result());
  CHECK(write_result(parse_result(once, "x")) == once);
  Result bare;
  bare.scale.mm_per_pixel = 0.03;
  const std::string short_one = write_result(bare);
  CHECK(write_result(parse_result(short_one, "x")) == short_one);
}

TEST_CASE("what is read back is what was written") {
  const Result again = parse_result(write_result(full_result()), "x");
  const CanalResult& canal = again.canals.at(0);
  REQUIRE(canal.terminus);
  CHECK(canal.terminus->side == Side::short_of);
  CHECK(canal.terminus->parts.at(1).source == "apex mark");
  REQUIRE(canal.voids);
  CHECK(canal.voids->at(0).kind == VoidKind::along_wall);
  CHECK(canal.voids->at(0).third == Third::middle);
  CHECK(canal.voids->at(0).length_mm == Quantity{0.6, 0.05});
  CHECK(canal.taper.largest_reversal->narrowing_mm == Quantity{0.05, 0.02});
  CHECK(canal.against_plan.gap_at_backfill == true);
  CHECK_FALSE(canal.centre_line.at(1).half_width_px);
  CHECK(again.judged->judgements.at(1).verdict == Verdict::not_assessable);
  CHECK(again.judged->judgements.at(1).limit == "0 to 2 mm");
  CHECK_FALSE(again.canals.at(1).voids);
  CHECK(again.film.bits_stored == 12);
}

TEST_CASE("the last digits of floating point don't show") {
  Result result = full_result();
  CHECK(write_result(result).find("00000") == std::string::npos);
  const std::string plain = write_result(result);
  result.canals[0].terminus->to_apex_mm += 1e-12;
  result.canals[0].width[0].width_mm -= 1e-13;
  CHECK(write_result(result) == plain);
  result.canals[0].terminus->to_apex_mm = -1e-9;
  CHECK(write_result(result).find("\"to_apex_mm\": 0,") != std::string::npos);
}

TEST_CASE("an entry of the width stands on one line") {
  CHECK(write_result(full_result())
            .find("\n        { \"at_mm\": 2, \"width_mm\": 0.41, \"standard_uncertainty_mm\": 0.02 }") !=
        std::string::npos);
}

TEST_CASE("a result with a field missing or of the wrong type is refused by its pointer") {
  const json original = written(full_result());
  const json flat = original.flatten();
  for (const auto& leaf : flat.items()) {
    const std::string pointer = leaf.key();
    CAPTURE(pointer);
    json document = original;
    const json::json_pointer place(pointer);
    document[place] = json::array({json::object()});
    CHECK_THROWS_WITH_AS((void)parse_result(document.dump(), "r.json"), doctest::Contains("r.json: /"),
                         Refusal);
  }
  json document = original;
  document["canals"][0].erase("voids");
  CHECK_THROWS_WITH_AS((void)parse_result(document.dump(), "r.json"),
                       "r.json: /canals/0/voids: this field is missing; add it", Refusal);
  document = original;
  document["schema"] = "canalrule.result/9";
  CHECK_THROWS_WITH_AS((void)parse_result(document.dump(), "r.json"), doctest::Contains("canalrule.result/1"),
                       Refusal);
}
