#include <doctest/doctest.h>

#include <canalrule/report/report.hpp>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "../../../src/report/plain_text.hpp"
#include "sample_result.hpp"

using namespace canalrule;

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

/// The report with every run of white space one space, so that breaks of lines don't part a figure.
std::string flat(const std::string& text) { return report::clean(text); }

bool says(const std::string& text, const std::string& words) {
  return flat(text).find(words) != std::string::npos;
}

Result judged(std::vector<CanalResult> canals) {
  Result result = sample::result_of(std::move(canals));
  sample::judge_by_hand(result);
  return result;
}

void check_columns(const std::string& text) {
  for (const std::string& line : lines_of(text)) {
    CAPTURE(line);
    CHECK(report::code_points(line) <= 80);
  }
}

/// The text a change of the report has to be agreed in; CANALRULE_REWRITE_GOLDEN=1 puts the present one in.
void check_golden(const std::string& name, const std::string& text) {
  const std::string file = std::string(CANALRULE_SOURCE_DIR) + "/tests/golden/" + name;
  if (std::getenv("CANALRULE_REWRITE_GOLDEN") != nullptr) std::ofstream(file, std::ios::binary) << text;
  std::ifstream in(file, std::ios::binary);
  std::ostringstream expected;
  expected << in.rdbuf();
  CHECK(expected.str() == text);
}

}  // namespace

TEST_CASE("one canal without trouble fits 24 lines, two fit 40") {
  const std::string one = text_report(judged({sample::plain_canal("D", 300)}));
  CHECK(lines_of(one).size() <= 24);
  CHECK(lines_of(one).size() >= 15);
  const std::string two =
      text_report(judged({sample::plain_canal("ML", 300), sample::plain_canal("D", 500)}));
  CHECK(lines_of(two).size() <= 40);
  CHECK(two.ends_with("\n"));
}

TEST_CASE("no line is wider than 80 columns") {
  check_columns(text_report(judged(
      {sample::troubled_canal("ML", 300), sample::plain_canal("D", 500), sample::empty_canal("P", 600)})));
  Result wordy = judged({sample::troubled_canal(std::string(200, 'n'), 300)});
  wordy.provenance.image_file = std::string(300, 'f') + ".png";
  wordy.provenance.reader = std::string(90, 'r');
  wordy.provenance.tooth = std::string(90, 't');
  wordy.warnings.push_back({"w", std::string(500, 'w')});
  wordy.judged->criteria_name = std::string(200, 'c');
  check_columns(text_report(wordy));
}

TEST_CASE("every figure of a canal is said") {
  const std::string text = text_report(judged({sample::troubled_canal("ML", 300)}));
  for (const std::string words :
       {"0.42 ± 0.13 mm beyond the apex",
        "length 11.62 ± 0.24 mm",
        "coronal level 12.83 ± 0.22 mm",
        "0.42 ± 0.12 mm long, 0.11 ± 0.04 mm², −0.42 to 0.00 mm",
        "apart from the fill, 0.39 ± 0.16 mm long",
        "1 2.41 to 2.97 apical inside 0.56 ± 0.08 0.21 ± 0.06 34 ± 8 % 7.2",
        "2 5.12 to 5.63 middle across 0.51 ± 0.06 0.48 ± 0.04 97 ± 10 % 21.4",
        "3 8.18 to 9.29 coronal along a wall 1.11 ± 0.14 0.14 ± 0.08 22 ± 6 % 6.2",
        "0.24 ± 0.03 at −0.1",
        "overall 0.061 ± 0.003, apical 0.063 ± 0.010, middle 0.060 ± 0.010, coronal not assessable",
        "step of −0.08 ± 0.04 mm at 4.03 mm (4.7 sd)",
        "kink, taper +0.031 ± 0.016 at 7.26 mm (5.9 sd)",
        "0.01 ± 0.02 mm, 7.10 to 7.60 mm",
        "width −0.04 ± 0.02 mm against the cone",
        "ends 0.58 ± 0.34 mm beyond the working length",
        "reference to terminus 20.58 ± 0.32 mm",
        "a gap where the backfill starts: void 2",
        "curve 17 ± 3°",
        "contrast 8.4 sd",
        "blur 0.05 mm",
        "bone beyond apex 3.4 mm",
        "coronal taper: Another fill lies over most of the coronal third.",
        "voids 10.60 to 12.40 mm: Another fill lies over this one",
        "Another fill overlaps this canal",
        "only 3.1 times as much"}) {
    CAPTURE(words);
    CHECK(says(text, words));
  }
}

TEST_CASE("the film, its scale and where that is from, the criteria, verdicts and cautions are said") {
  Result result = judged({sample::plain_canal("D", 300)});
  result.warnings = {{"clipped-grey", "Some of the film is saturated."}};
  result.scale.mm_per_pixel_across = Quantity{0.031, 0.0002};
  result.scale.disagreement = 1.7;
  const std::string text = text_report(result);
  for (const std::string words :
       {"tooth 36 · lower-left.png · read by A1",
        "0.03000 ± 0.00017 mm per pixel, from a known length on this film", "across 0.03100 ± 0.00040",
        "disagreement (Birge ratio) 1.7", "900 × 800, log, noise 24 grey, blur 0.05 mm", "clipped 0.4 %, halo 3 %",
        "k = 2, about 95 %", "invented for tests, version 3", "Some of the film is saturated.",
        "1.23 ± 0.12 mm short of the apex", "within > 99.9 % fill ends 0 to 2 mm short",
        "too close to call 62.4 % no void of 0.3 mm or more", "The radiographic apex is not the foramen.",
        "No exposure is justified by a measurement."}) {
    CAPTURE(words);
    CHECK(says(text, words));
  }
}

TEST_CASE("the coverage factor is said once") {
  const std::string text =
      text_report(judged({sample::plain_canal("ML", 300), sample::plain_canal("D", 500)}));
  const std::size_t first = text.find("k = 2");
  REQUIRE(first != std::string::npos);
  CHECK(text.find("k = 2", first + 1) == std::string::npos);
}

TEST_CASE("what is missing is said in words or a dash, never as a number") {
  const std::string text = text_report(sample::result_of({sample::empty_canal("P", 300)}));
  const std::string canal =
      flat(text.substr(text.find("── Canal P"), text.find("── Cautions") - text.find("── Canal P")));
  CHECK(canal.find_first_of("0123456789") == std::string::npos);
  CHECK(says(canal, "Terminus not assessable"));
  CHECK(says(canal, "Voids not assessable"));
  CHECK(says(canal, "curve –, contrast –, blur –, bone beyond apex –"));
  CHECK(says(canal, "filled length, voids, width"));
  CHECK(says(canal, "No fill was found along the path."));

  CanalResult silent;
  silent.name = "Q";
  const std::string bare = text_report(sample::result_of({silent}));
  CHECK(says(bare, "Terminus – Fill length –, coronal level –"));
  CHECK(says(bare, "Voids –"));
}

TEST_CASE("no void found is not the same as voids not assessable") {
  CHECK(says(text_report(sample::result_of({sample::plain_canal("D", 300)})), "Voids none found"));
}

TEST_CASE("a void that may be chance is said to") {
  Result result = sample::result_of({sample::troubled_canal("ML", 300)});
  REQUIRE(result.canals.front().voids);
  REQUIRE_FALSE(result.canals.front().voids->empty());
  result.canals.front().voids->front().score = 1.4;
  CHECK(text_report(result).find("Void 1 may be chance") != std::string::npos);
  result.canals.front().voids->front().score = 7.0;
  CHECK(text_report(result).find("Void 1 may be chance") == std::string::npos);
}

TEST_CASE("a narrowing of nothing has no place") {
  CanalResult canal = sample::plain_canal("D", 300);
  canal.taper.largest_reversal = Reversal{{0.001, 0.004}, 3.0, 9.0};
  const std::string text = text_report(sample::result_of({canal}));
  CHECK(says(text, "narrows nowhere crownwards (0.00 ± 0.01 mm)"));
  CHECK_FALSE(says(text, "3.00 to 9.00"));
}

TEST_CASE("a fill that ends beyond the apex is never said to have nothing beyond it") {
  CanalResult canal = sample::troubled_canal("D", 300);
  canal.material_beyond_apex.clear();
  CHECK(says(text_report(sample::result_of({canal})), "no material apart from the fill seen beyond it"));
}

TEST_CASE("names can't steer the terminal") {
  Result result = judged({sample::plain_canal("M\x1b[2J\nCanal X", 300)});
  result.provenance.image_file =
      "a\x07"
      "b.png";
  result.canals[0].warnings = {{"w", "evil\x1b]0;t\x07"}};
  for (const char c : text_report(result)) {
    const bool control = static_cast<unsigned char>(c) < 0x20U && c != '\n';
    CHECK_FALSE(control);
  }
}

TEST_CASE("all warnings are listed, however many") {
  CanalResult canal = sample::plain_canal("D", 300);
  for (int i = 0; i < 30; ++i) canal.warnings.push_back({"w", "Warning number " + std::to_string(i) + "."});
  const std::string text = text_report(sample::result_of({canal}));
  for (int i = 0; i < 30; ++i) CHECK(says(text, "Warning number " + std::to_string(i) + "."));
}

TEST_CASE("the report as agreed") {
  check_golden("report-plain.txt", text_report(judged({sample::plain_canal("D", 300)})));
  check_golden("report-troubled.txt",
               text_report(judged({sample::troubled_canal("ML", 300), sample::plain_canal("D", 500)})));
  check_golden("report-nothing-found.txt", text_report(judged({sample::empty_canal("P", 300)})));
}
