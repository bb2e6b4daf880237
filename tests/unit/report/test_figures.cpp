#include <canalrule/report/figures.hpp>

#include <string>

#include <doctest/doctest.h>

using namespace canalrule;
using namespace canalrule::report;

namespace {

/// No-break spaces as plain ones, to compare with what a person reads.
std::string plain(std::string words) {
  const std::string no_break = "\u00A0";
  for (std::size_t at = words.find(no_break); at != std::string::npos; at = words.find(no_break))
    words.replace(at, no_break.size(), " ");
  return words;
}

Judgement judged(Verdict verdict, std::optional<Quantity> figure, std::string unit) {
  Judgement judgement;
  judgement.canal = "1";
  judgement.criterion = "c";
  judgement.text = "Asked for";
  judgement.verdict = verdict;
  judgement.figure = figure;
  judgement.unit = std::move(unit);
  if (verdict != Verdict::not_assessable) judgement.probability_within = 0.5;
  judgement.reason = "because";
  return judgement;
}

}  // namespace

TEST_CASE("a figure that isn't known is a dash, one that can't be assessed says so, and none is zero") {
  CanalResult canal;
  canal.name = "1";
  for (const FigureLine& line : figure_lines(canal)) CHECK(line.value == "–");
  canal.not_assessable.push_back({"terminus", {}, {}, "overlap", "The end is hidden."});
  CHECK(figure_lines(canal).front().value == "not assessable");
  canal.terminus = Terminus{{}, 1.5, 0.05, Side::short_of, {}};
  CHECK(plain(figure_lines(canal).front().value) == "1.50 ± 0.10 mm short of the apex");
}

TEST_CASE("voids that may be chance are counted apart from the others") {
  CanalResult canal;
  Void sure, chance;
  sure.score = 7.0;
  sure.length_mm = {1.0, 0.05};
  chance.score = 1.4;
  chance.length_mm = {0.55, 0.3};
  const auto words = [&](std::vector<Void> voids) {
    canal.voids = std::move(voids);
    for (const FigureLine& line : figure_lines(canal))
      if (line.name == "Voids") return plain(line.value);
    return std::string();
  };
  CHECK(words({chance}) == "1 that may be chance, 0.55 ± 0.60 mm long");
  CHECK(words({chance, sure, sure}) == "2, the longest 1.00 ± 0.10 mm; 1 that may be chance, 0.55 ± 0.60 mm long");
}

TEST_CASE("that no void was found says of how much of the fill") {
  CanalResult canal;
  canal.voids.emplace();
  const auto words = [&] {
    for (const FigureLine& line : figure_lines(canal))
      if (line.name == "Voids") return line.value;
    return std::string();
  };
  CHECK(words() == "none found");
  canal.not_assessable.push_back({"voids", 2.0, 9.0, "overlap", "Another canal's fill lies over it."});
  CHECK(words() == "none found where they can be told");
}

TEST_CASE("a stretch that can't be assessed stands once, with its figure where that is one alone") {
  CanalResult canal;
  canal.not_assessable = {{"voids", 2.0, 9.0, "overlap", ""}, {"voids", 4.0, 5.0, "clipped", ""},
                          {"width", 4.0, 5.0, "clipped", ""}, {"taper", {}, {}, "clipped", ""}};
  const std::vector<NotAssessable> stretches = stretches_not_assessable(canal);
  REQUIRE(stretches.size() == 2);
  CHECK(stretches[0].figure == "voids");
  CHECK(stretches[1].figure.empty());
}

TEST_CASE("verdicts carry figure, expanded uncertainty and chance; only this canal's") {
  Result result;
  CanalResult canal;
  canal.name = "1";
  CHECK(verdict_lines(canal, result).empty());
  result.judged = Judged{"Set", "1", "", {}};
  result.judged->judgements = {judged(Verdict::within, Quantity{1.2, 0.05}, "mm"),
                               judged(Verdict::too_close_to_call, Quantity{2.0, 0.0}, ""),
                               judged(Verdict::not_assessable, std::nullopt, "mm")};
  result.judged->judgements.push_back(judged(Verdict::outside, std::nullopt, ""));
  result.judged->judgements.back().canal = "other";
  const std::vector<VerdictLine> lines = verdict_lines(canal, result);
  REQUIRE(lines.size() == 3);
  CHECK(plain(lines[0].figure) == "1.20 ± 0.10 mm");
  CHECK(plain(lines[0].chance) == "50.0 %");
  CHECK(lines[1].words == "too close to call");
  CHECK(lines[1].figure == "2");  // a number of voids, exact
  CHECK(lines[2].figure.empty());
  CHECK(lines[2].chance.empty());
  CHECK(lines[2].reason == "because");
  CHECK(criteria_line(result) == "Set, version 1");
  CHECK(criteria_line(Result{}).empty());
}

TEST_CASE("doubts: each reason once with all it takes away, then the warnings") {
  CanalResult canal;
  canal.not_assessable = {{"voids", 1.0, 2.0, "overlap", "Hidden."}, {"taper.overall", {}, {}, "overlap", "Hidden."}};
  canal.warnings = {{"short-film", "Little film beyond the apex."}};
  const std::vector<DoubtLine> lines = doubt_lines(canal);
  REQUIRE(lines.size() == 2);
  CHECK(lines[0].head == "Not assessable");
  CHECK(lines[0].text.find("overall taper") != std::string::npos);
  CHECK(lines[0].text.find("Hidden.") != std::string::npos);
  CHECK(lines[1].text == "Little film beyond the apex.");
}

TEST_CASE("a void in one line") {
  Void found;
  found.from_mm = 4.0;
  found.to_mm = 4.6;
  found.length_mm = {0.6, 0.02};
  found.width_mm = {0.4, 0.03};
  found.deficit = {0.5, 0.05};
  found.score = 7.25;
  found.kind = VoidKind::along_wall;
  CHECK(plain(void_line(found)) ==
        "Void along a wall, 0.60 ± 0.04 mm long, 0.40 ± 0.06 mm wide, deficit 50 ± 10 %, 7.2 sd, 4.00 to 4.60 mm from "
        "the apex");
  CHECK(plain(length_words({0.6, 0.02})) == "0.60 ± 0.04 mm");
  TaperBreak step;
  step.at_mm = 6.0;
  step.kind = "step";
  step.step_mm = {0.14, 0.01};
  CHECK(plain(break_line(step)) == "Step of +0.14 ± 0.02 mm at 6.00 mm");
}
