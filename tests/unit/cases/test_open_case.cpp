#include <canalrule/cases/open_case.hpp>

#include <string>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <canalrule/base/whole_file.hpp>
#include <canalrule/dicom/write_film.hpp>
#include <canalrule/intake/open_film.hpp>

#include "temporary_folder.hpp"

using canalrule::Case;
using canalrule::open_case;
using canalrule::Refusal;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;
using nlohmann::json;

namespace {

cv::Mat shade(int seed) {
  cv::Mat grey(200, 100, CV_16UC1);
  for (int row = 0; row < grey.rows; ++row)
    for (int column = 0; column < grey.cols; ++column)
      grey.at<std::uint16_t>(row, column) = static_cast<std::uint16_t>(10 * row + column + seed);
  return grey;
}

/// A reading of film.png, its scale known.
json reading() {
  return json::parse(R"({
    "schema": "canalrule.reading/1",
    "image": { "file": "film.png" },
    "reader": "A1",
    "scale": [ { "kind": "known-length", "points": [[50, 10], [50, 190]], "length_mm": 21.0 } ],
    "canals": [ { "name": "single", "path": [[50, 20], [52, 100], [50, 180]], "apex": [50, 181] } ]
  })");
}

json carried_from(const std::string& file) {
  return {{"kind", "carried-length"},
          {"points", {{50, 10}, {50, 181}}},
          {"from", {{"reading", file}, {"points", {{40, 12}, {41, 190}}}}}};
}

class Folder : public TemporaryFolder {
 public:
  Folder() { write("film.png", canalrule::encode_png(shade(0))); }
  std::filesystem::path write_json(const std::string& name, const json& document) const {
    return write(name, document.dump());
  }
  Refusal refuses(const json& document) const {
    const auto file = write_json("a.reading.json", document);
    return refusal_of([&] { open_case(file); });
  }
};

std::string film_hash(const Folder& folder) {
  return canalrule::sha256_hex(canalrule::read_whole(folder.path() / "film.png", 1U << 20U));
}

}  // namespace

TEST_CASE("a reading opens with its film, found from its own folder") {
  const Folder folder;
  json document = reading();
  document["image"].update({{"sha256", film_hash(folder)}, {"columns", 100}, {"rows", 200}});
  const auto file = folder.write_json("a.reading.json", document);
  const Case opened = open_case(file);
  CHECK(opened.film.grey.rows == 200);
  CHECK(opened.film.grey.at<float>(30, 40) == 340.0F);
  CHECK(opened.film.sha256 == film_hash(folder));
  CHECK(opened.reading.canals.size() == 1);
  CHECK(opened.reading_file == file.string());
  CHECK(opened.reading_sha256 == canalrule::sha256_hex(canalrule::read_whole(file, 1U << 20U)));
  CHECK(opened.image_file == "film.png");
  CHECK(opened.carried.empty());
}

TEST_CASE("another film may be given in its place, and must be the one that was marked") {
  const Folder folder;
  const auto same = folder.write("renamed.png", canalrule::encode_png(shade(0)));
  const auto other = folder.write("other.png", canalrule::encode_png(shade(1)));
  json document = reading();
  document["image"]["file"] = "gone.png";
  document["image"]["sha256"] = film_hash(folder);
  const auto file = folder.write_json("a.reading.json", document);
  CHECK(open_case(file, same).image_file == "renamed.png");

  const Refusal gone = refusal_of([&] { open_case(file); });
  CHECK(gone.field() == "/image/file");
  CHECK(gone.where() == file.string());
  CHECK(gone.problem().find("gone.png") != std::string::npos);

  const Refusal swapped = refusal_of([&] { open_case(file, other); });
  CHECK(swapped.kind() == canalrule::RefusalKind::unusable_input);
  CHECK(swapped.field() == "/image/sha256");
  CHECK(swapped.problem().find(film_hash(folder)) != std::string::npos);
  CHECK(swapped.remedy().find("another film") != std::string::npos);
}

TEST_CASE("what is at hand already gives the same case as the files, and opens none") {
  const Folder folder;
  folder.write_json("file.reading.json", reading());
  json document = reading();
  document["scale"].push_back(carried_from("file.reading.json"));
  const auto file = folder.write_json("a.reading.json", document);
  const Case from_files = open_case(file);
  const std::string text = document.dump();
  std::filesystem::remove(file);
  std::filesystem::remove(folder.path() / "film.png");
  const Case at_hand = open_case(file, text, from_files.film, from_files.carried);
  CHECK(at_hand.film.grey.data == from_files.film.grey.data);
  CHECK(at_hand.reading_sha256 == from_files.reading_sha256);
  CHECK(at_hand.reading_file == from_files.reading_file);
  CHECK(at_hand.image_file == from_files.image_file);
  CHECK(at_hand.carried.size() == 1);

  document["canals"][0]["apex"] = {-400, 30};
  CHECK(refusal_of([&] { open_case(file, document.dump(), from_files.film, from_files.carried); }).field() ==
        "/canals/0/apex");
  document = json::parse(text);
  document["image"]["rows"] = 7;
  CHECK(refusal_of([&] { open_case(file, document.dump(), from_files.film, from_files.carried); }).field() ==
        "/image/rows");
  document = json::parse(text);
  document["scale"][1]["from"]["points"][0] = {5000, 5000};
  std::vector<canalrule::CarriedFrom> carried = from_files.carried;
  CHECK(refusal_of([&] { open_case(file, document.dump(), from_files.film, carried); }).field() ==
        "/scale/1/from/points/0");
}

TEST_CASE("a film that its reader found not assessable isn't measured, and that is said") {
  const Folder folder;
  json document = reading();
  document["not_assessable"] = "two roots overlap";
  const Refusal refused = folder.refuses(document);
  CHECK(refused.field() == "/not_assessable");
  CHECK(refused.problem().find("two roots overlap") != std::string::npos);
}

TEST_CASE("columns and rows that differ are refused with both values") {
  const Folder folder;
  for (const auto& [field, wrong, right] : {std::tuple{"columns", 200, 100}, std::tuple{"rows", 100, 200}}) {
    json document = reading();
    document["image"][field] = wrong;
    const Refusal refused = folder.refuses(document);
    CHECK(refused.field() == "/image/" + std::string(field));
    CHECK(refused.problem().find(std::to_string(wrong)) != std::string::npos);
    CHECK(refused.problem().find(std::to_string(right)) != std::string::npos);
  }
}

TEST_CASE("a path many times as long as the film is refused, whose points all lie on it") {
  const Folder folder;
  json document = reading();
  json& path = document["canals"][0]["path"];
  for (int i = 0; i < 4; ++i) path.push_back({20 + i, i % 2 == 0 ? 5 : 195});
  CHECK_NOTHROW(open_case(folder.write_json("a.reading.json", document)));
  for (int i = 0; i < 6; ++i) path.push_back({20 + i, i % 2 == 0 ? 5 : 195});
  const Refusal refused = folder.refuses(document);
  CHECK(refused.field() == "/canals/0/path");
  CHECK(refused.remedy().find("once along the canal") != std::string::npos);
}

TEST_CASE("marks may lie a little outside the film, not far") {
  const Folder folder;
  json document = reading();
  document["canals"][0]["path"][2] = {50, 209.9};  // 5 % of the larger side, 200, is 10
  document["canals"][0]["apex"] = {-9.9, 181};
  CHECK_NOTHROW(open_case(folder.write_json("a.reading.json", document)));

  const auto refused_at = [&](const char* pointer, const json& point) {
    json far = reading();
    far["canals"][0]["coronal_reference"] = {50, 5};
    far["scale"].push_back({{"kind", "known-width"}, {"points", {{40, 30}, {60, 30}}}, {"width_mm", 0.5}});
    far[json::json_pointer(pointer)] = point;
    return folder.refuses(far).field() == pointer;
  };
  CHECK(refused_at("/canals/0/path/2", {50, 210.1}));
  CHECK(refused_at("/canals/0/path/0", {110.1, 20}));
  CHECK(refused_at("/canals/0/apex", {-10.1, 181}));
  CHECK(refused_at("/canals/0/coronal_reference", {50, -10.1}));
  CHECK(refused_at("/scale/0/points/1", {50, 1900}));
  CHECK(refused_at("/scale/1/points/0", {-400, 30}));
}

TEST_CASE("a scale is carried over from a reading with a known length, be its film there or not") {
  const Folder folder;
  json from = reading();
  from["image"]["file"] = "not-there.png";
  folder.write_json("file.reading.json", from);
  json document = reading();
  document["scale"].push_back(carried_from("file.reading.json"));
  const Case opened = open_case(folder.write_json("a.reading.json", document));
  REQUIRE(opened.carried.size() == 1);
  CHECK(opened.carried[0].scale_index == 1);
  CHECK_FALSE(opened.carried[0].film.has_value());
  CHECK(opened.carried[0].reading.image.file == "not-there.png");

  from["image"]["file"] = "film.png";
  folder.write_json("file.reading.json", from);
  REQUIRE(open_case(folder.path() / "a.reading.json").carried[0].film.has_value());
  CHECK(open_case(folder.path() / "a.reading.json").carried[0].film->sha256 == film_hash(folder));

  from["image"]["sha256"] = std::string(64, '0');
  folder.write_json("file.reading.json", from);
  const Refusal other_film = folder.refuses(document);
  CHECK(other_film.field() == "/image/sha256");
  CHECK(other_film.where() == (folder.path() / "file.reading.json").string());
}

TEST_CASE("without a known length, the other film's own spacing serves") {
  const Folder folder;
  canalrule::dicom::FilmToWrite film;
  film.grey = shade(0) & cv::Scalar(0xFFF);
  film.bits_stored = 12;
  film.spacing.emplace();
  film.spacing->row_mm = 0.03;
  film.spacing->column_mm = 0.02;
  film.spacing->kind = canalrule::SpacingKind::imager;
  folder.write("other.dcm", canalrule::dicom::encode_dicom(film));
  json from = reading();
  from.erase("scale");
  from["image"]["file"] = "other.dcm";
  folder.write_json("file.reading.json", from);
  json document = reading();
  document["scale"] = {carried_from("file.reading.json")};
  const Case opened = open_case(folder.write_json("a.reading.json", document));
  REQUIRE(opened.carried.size() == 1);
  REQUIRE(opened.carried[0].film.has_value());
  REQUIRE(opened.carried[0].film->spacing.has_value());
  CHECK(opened.carried[0].film->spacing->row_mm == 0.03);

  document["scale"][0]["from"]["points"][1] = {40, 900};
  CHECK(folder.refuses(document).field() == "/scale/0/from/points/1");
}

TEST_CASE("a scale carried over from itself, in a circle or from a film without scale is refused") {
  const Folder folder;
  json document = reading();
  document["scale"] = {carried_from("a.reading.json")};
  CHECK(folder.refuses(document).problem().find("itself") != std::string::npos);

  json circle = reading();
  circle["scale"] = {carried_from("a.reading.json")};
  folder.write_json("file.reading.json", circle);
  document["scale"] = {carried_from("file.reading.json")};
  const Refusal refused = folder.refuses(document);
  CHECK(refused.field() == "/scale/0/from/reading");
  CHECK(refused.remedy().find("known-length") != std::string::npos);

  document["scale"] = {carried_from("missing.reading.json")};
  const Refusal missing = folder.refuses(document);
  CHECK(missing.field() == "/scale/0/from/reading");
  CHECK(missing.problem().find("missing.reading.json") != std::string::npos);
}
