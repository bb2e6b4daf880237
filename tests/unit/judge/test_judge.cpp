#include <doctest/doctest.h>

#include <canalrule/judge/judge.hpp>

#include "results.hpp"

using namespace canalrule_test;
using Figure = CriterionFigure;

namespace {

const VoidSelection counted{5.0, 0.3, 0.0, std::nullopt};
const Criterion no_void = up_to(Figure::void_count, 0.0, counted);

CanalResult canal_with(std::vector<Void> voids) {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.voids = std::move(voids);
  return canal;
}

bool says(const Judgement& judgement, const char* words) {
  return judgement.reason.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("the end of the fill is judged with its uncertainty") {
  const Criterion length = between(Figure::terminus_to_apex_mm, 0.0, 2.0);
  const Judgement within = judge_canal(canal_ending(1.2, 0.06), length);
  CHECK(within.verdict == Verdict::within);
  CHECK(within.figure == Quantity{1.2, 0.06});
  CHECK(within.unit == "mm");
  CHECK(within.canal == "ML");
  CHECK(judge_canal(canal_ending(1.95, 0.06), length).verdict == Verdict::too_close_to_call);
  CHECK(judge_canal(canal_ending(2.2, 0.06), length).verdict == Verdict::outside);
  CHECK(judge_canal(canal_ending(-0.3, 0.06), length).verdict == Verdict::outside);
  CHECK(judge_canal(canal_ending(0.02, 0.06), length).verdict == Verdict::too_close_to_call);
}

TEST_CASE("a missing figure is not assessable, for the result's own reason") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.terminus.reset();
  canal.not_assessable = {{"terminus", {}, {}, "no-fill", "No fill is seen along the path."}};
  const Judgement judgement = judge_canal(canal, between(Figure::terminus_to_apex_mm, 0.0, 2.0));
  CHECK(judgement.verdict == Verdict::not_assessable);
  CHECK_FALSE(judgement.probability_within);
  CHECK_FALSE(judgement.figure);
  CHECK(judgement.reason == "No fill is seen along the path.");
}

TEST_CASE("what was not planned can't be judged against the plan") {
  const CanalResult canal = canal_ending(1.0, 0.05);
  const Judgement length = judge_canal(canal, between(Figure::terminus_to_working_length_mm, -0.5, 0.5));
  CHECK(length.verdict == Verdict::not_assessable);
  CHECK(says(length, "no working length"));
  CHECK(judge_canal(canal, between(Figure::width_against_plan_mm, -0.1, 0.1)).verdict ==
        Verdict::not_assessable);
}

TEST_CASE("what was planned is judged") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.against_plan.terminus_to_working_length_mm = Quantity{0.7, 0.1};
  canal.against_plan.mean_width_difference_mm = Quantity{0.01, 0.02};
  CHECK(judge_canal(canal, between(Figure::terminus_to_working_length_mm, -0.5, 0.5)).verdict ==
        Verdict::outside);
  CHECK(judge_canal(canal, between(Figure::width_against_plan_mm, -0.1, 0.1)).verdict == Verdict::within);
  CHECK(judge_canal(canal, between(Figure::filled_length_mm, 10.0, 20.0)).verdict == Verdict::within);
}

TEST_CASE("no void found is within, and the count is nought") {
  const Judgement judgement = judge_canal(canal_with({}), no_void);
  CHECK(judgement.verdict == Verdict::within);
  CHECK(judgement.probability_within == 1.0);
  CHECK(judgement.figure == Quantity{0.0, 0.0});
  CHECK(says(judgement, "no void that counts"));
}

TEST_CASE("a sure void is outside, one near the threshold too close to call, a faint one within") {
  CHECK(judge_canal(canal_with({void_of(4, {0.6, 0.05}, 8.0)}), no_void).verdict == Verdict::outside);
  CHECK(judge_canal(canal_with({void_of(4, {0.6, 0.05}, 5.5)}), no_void).verdict ==
        Verdict::too_close_to_call);
  CHECK(judge_canal(canal_with({void_of(4, {0.6, 0.05}, 4.5)}), no_void).verdict ==
        Verdict::too_close_to_call);
  CHECK(judge_canal(canal_with({void_of(4, {0.6, 0.05}, 3.0)}), no_void).verdict == Verdict::within);
  CHECK(judge_canal(canal_with({void_of(4, {0.1, 0.05}, 9.0)}), no_void).verdict == Verdict::within);
  CHECK(judge_canal(canal_with({void_of(4, {0.3, 0.05}, 9.0)}), no_void).verdict ==
        Verdict::too_close_to_call);
}

TEST_CASE("the reason names the void and what counts") {
  const Judgement judgement = judge_canal(canal_with({void_of(4.8, {0.6, 0.05}, 7.2)}), no_void);
  CHECK(judgement.reason ==
        "the void at 4.8 to 5.4 mm, score 7.2; counted: score ≥ 5, ≥ 0.3 mm");
}

TEST_CASE("doubtful voids add up: two of one half each leave a quarter") {
  const Void doubtful = void_of(4, {3.0, 0.05}, 5.0);
  const Judgement judgement = judge_canal(canal_with({doubtful, doubtful}), no_void);
  REQUIRE(judgement.probability_within);
  CHECK(*judgement.probability_within == doctest::Approx(0.25).epsilon(1e-6));
}

TEST_CASE("a limit on the number of voids follows the distribution of a sum of unequal chances") {
  const auto p = [](double most) {
    // Chances to count 0.5, 0.5 and 1: none is impossible, one 1/4, two 1/2, three 1/4.
    const Void half = void_of(4, {3.0, 0.05}, 5.0);
    const Void sure = void_of(8, {3.0, 0.05}, 50.0);
    return *judge_canal(canal_with({half, sure, half}), up_to(Figure::void_count, most, counted))
                .probability_within;
  };
  CHECK(p(0.0) == doctest::Approx(0.0).epsilon(1e-9));
  CHECK(p(1.0) == doctest::Approx(0.25).epsilon(1e-6));
  CHECK(p(2.0) == doctest::Approx(0.75).epsilon(1e-6));
  CHECK(p(3.0) == doctest::Approx(1.0).epsilon(1e-9));
}

TEST_CASE("fewer than one void is none, fewer than two at most one") {
  Criterion fewer = no_void;
  fewer.upper = Limit{1.0, false};
  const CanalResult canal = canal_with({void_of(4, {3.0, 0.05}, 50.0)});
  CHECK(judge_canal(canal, fewer).verdict == Verdict::outside);
  fewer.upper = Limit{2.0, false};
  CHECK(judge_canal(canal, fewer).verdict == Verdict::within);
}

TEST_CASE("the longest void that counts is judged, with the chance that it counts") {
  const Criterion longest = up_to(Figure::longest_void_mm, 1.0, counted);
  const Judgement both =
      judge_canal(canal_with({void_of(3, {0.5, 0.05}, 20.0), void_of(6, {1.0, 0.1}, 20.0)}), longest);
  CHECK(both.figure == Quantity{1.0, 0.1});
  CHECK(*both.probability_within == doctest::Approx(0.5).epsilon(1e-6));
  // A faint one of twice the length counts with probability 0.5.
  const Judgement faint = judge_canal(canal_with({void_of(6, {2.0, 0.1}, 5.0)}), longest);
  CHECK(*faint.probability_within == doctest::Approx(0.5).epsilon(1e-6));
  // One shorter than the least length that counts can't break a limit below that length.
  const Judgement small =
      judge_canal(canal_with({void_of(6, {0.2, 0.01}, 20.0)}), up_to(Figure::longest_void_mm, 0.1, counted));
  CHECK(small.verdict == Verdict::within);
  CHECK_FALSE(small.figure);
}

TEST_CASE("the largest deficit is judged over the voids that count") {
  const Criterion deficit = up_to(Figure::largest_void_deficit, 0.4, counted);
  const CanalResult canal =
      canal_with({void_of(3, {0.1, 0.01}, 20.0, {0.9, 0.05}), void_of(6, {1.0, 0.1}, 20.0, {0.3, 0.02})});
  const Judgement judgement = judge_canal(canal, deficit);
  CHECK(judgement.verdict == Verdict::within);
  CHECK(judgement.figure == Quantity{0.3, 0.02});
  CHECK(judgement.unit.empty());
}

TEST_CASE("voids that could not be looked for are not assessable") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.voids.reset();
  canal.not_assessable = {{"voids", {}, {}, "overlap", "Another fill lies over all of it."}};
  const Judgement judgement = judge_canal(canal, no_void);
  CHECK(judgement.verdict == Verdict::not_assessable);
  CHECK(judgement.reason == "Another fill lies over all of it.");
}

TEST_CASE("a stretch that can't be assessed keeps a fill from being within, not from being outside") {
  const auto unseen = [](CanalResult canal, double from_mm, double to_mm) {
    canal.not_assessable.push_back({"voids", from_mm, to_mm, "overlap", "Another fill lies over it."});
    return judge_canal(canal, no_void);
  };
  const Judgement flawless = unseen(canal_with({}), 8.0, 12.0);
  CHECK(flawless.verdict == Verdict::not_assessable);
  CHECK_FALSE(flawless.probability_within);
  CHECK(says(flawless, "not assessable at 8.0 to 12.0 mm"));
  CHECK(unseen(canal_with({void_of(4, {0.6, 0.05}, 9.0)}), 8.0, 12.0).verdict == Verdict::outside);
  CHECK(unseen(canal_with({void_of(4, {0.6, 0.05}, 5.0)}), 8.0, 12.0).verdict == Verdict::too_close_to_call);
  CHECK(unseen(canal_with({}), 8.0, 8.4).verdict == Verdict::within);
  CHECK(says(unseen(canal_with({}), 8.0, 8.4), "8.0 to 8.4 mm"));
  // Beyond the fill there is nothing to look at.
  CHECK(unseen(canal_with({}), 12.0, 16.0).verdict == Verdict::within);
}

TEST_CASE("where a gap parts the fill at the apex, a short stretch there keeps its voids from being within") {
  CanalResult canal = canal_ending(-1.0, 0.05);
  canal.not_assessable = {{"voids", -0.28, 0.2, "leaves-root", "Its surroundings change there."}};
  CHECK(judge_canal(canal, no_void).verdict == Verdict::within);
  canal.warnings = {{"parted-at-apex", "A gap parts the fill."}};
  const Judgement judged = judge_canal(canal, no_void);
  CHECK(judged.verdict == Verdict::not_assessable);
  CHECK(judged.reason.find("a gap parts the fill") != std::string::npos);
  CHECK(judge_canal(canal, between(CriterionFigure::terminus_to_apex_mm, -1.5, 0.0)).verdict == Verdict::within);
  canal.voids->push_back(void_of(5.0, {0.6, 0.01}, 30.0));
  CHECK(judge_canal(canal, no_void).verdict == Verdict::outside);
}

TEST_CASE("two short stretches that touch are one long one") {
  CanalResult canal = canal_with({});
  canal.not_assessable = {{"voids", 8.3, 8.7, "clipped-grey", ""}, {"voids", 8.0, 8.4, "overlap", ""}};
  CHECK(judge_canal(canal, no_void).verdict == Verdict::not_assessable);
  canal.not_assessable[0].from_mm = 9.3;
  canal.not_assessable[0].to_mm = 9.7;
  CHECK(judge_canal(canal, no_void).verdict == Verdict::within);
}

TEST_CASE("a stretch outside the third that is looked at doesn't matter") {
  CanalResult canal = canal_with({});
  canal.not_assessable = {{"voids", 9.0, 12.0, "overlap", ""}};  // fill from 1 to 12: apical third up to 4.67
  VoidSelection apical = counted;
  apical.third = Third::apical;
  CHECK(judge_canal(canal, up_to(Figure::void_count, 0.0, apical)).verdict == Verdict::within);
  apical.third = Third::coronal;
  CHECK(judge_canal(canal, up_to(Figure::void_count, 0.0, apical)).verdict == Verdict::not_assessable);
}

TEST_CASE("tapers, narrowing and steps") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.taper.apical = Quantity{0.08, 0.005};
  const Judgement apical = judge_canal(canal, between(Figure::taper_apical, 0.06, 0.10));
  CHECK(apical.verdict == Verdict::within);
  CHECK(apical.unit == "mm per mm");
  CHECK(judge_canal(canal, between(Figure::taper_coronal, 0.06, 0.10)).verdict == Verdict::not_assessable);

  const Criterion narrowing = up_to(Figure::narrowing_towards_crown_mm, 0.1);
  CHECK(judge_canal(canal, narrowing).verdict == Verdict::within);
  canal.taper.largest_reversal = Reversal{{0.2, 0.02}, 4.0, 6.0};
  CHECK(judge_canal(canal, narrowing).verdict == Verdict::outside);

  const Criterion step = up_to(Figure::taper_step_mm, 0.15);
  CHECK(judge_canal(canal, step).verdict == Verdict::within);
  canal.taper.breaks = {{5.0, "kink", {0.5, 0.01}, 9.0}};
  CHECK(judge_canal(canal, step).verdict == Verdict::within);
  canal.taper.breaks.push_back({6.0, "step", {-0.3, 0.02}, 9.0});
  CHECK(judge_canal(canal, step).verdict == Verdict::outside);
  CHECK(judge_canal(canal, step).figure == Quantity{0.3, 0.02});
  canal.taper.breaks.back().step_mm = {0.15, 0.02};
  CHECK(judge_canal(canal, step).verdict == Verdict::too_close_to_call);
}

TEST_CASE("without any width nothing is said of narrowing and steps") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.width.clear();
  canal.not_assessable = {{"width", {}, {}, "overlap", "Another fill lies over all of it."}};
  for (const Figure figure : {Figure::narrowing_towards_crown_mm, Figure::taper_step_mm}) {
    const Judgement judgement = judge_canal(canal, up_to(figure, 0.1));
    CHECK(judgement.verdict == Verdict::not_assessable);
    CHECK(judgement.reason == "Another fill lies over all of it.");
  }
}

TEST_CASE("a third of the taper that can't be assessed keeps the taper from being within") {
  CanalResult canal = canal_ending(1.0, 0.05);
  canal.not_assessable = {{"taper.coronal", 8.0, 12.0, "overlap", ""}};
  CHECK(judge_canal(canal, up_to(Figure::narrowing_towards_crown_mm, 0.1)).verdict ==
        Verdict::not_assessable);
}

TEST_CASE("material beyond the apex is judged by its longest piece") {
  const Criterion none = up_to(Figure::material_beyond_apex_mm, 0.0);
  CanalResult canal = canal_ending(1.0, 0.05);
  CHECK(judge_canal(canal, none).verdict == Verdict::within);
  CHECK_FALSE(judge_canal(canal, none).figure);
  canal.material_beyond_apex = {{"apart", -0.8, -0.3, {0.5, 0.05}, {0.1, 0.01}, {0, 0}},
                                {"apart", -2.0, -1.2, {0.8, 0.05}, {0.1, 0.01}, {0, 0}}};
  CHECK(judge_canal(canal, none).verdict == Verdict::outside);
  CHECK(judge_canal(canal, none).figure == Quantity{0.8, 0.05});
  CHECK(judge_canal(canal, up_to(Figure::material_beyond_apex_mm, 1.5)).verdict == Verdict::within);
  canal.material_beyond_apex.clear();
  canal.terminus.reset();
  CHECK(judge_canal(canal, none).verdict == Verdict::not_assessable);
}

TEST_CASE("every canal is judged by every criterion, in order, and the rule set is named") {
  Result result;
  result.canals = {canal_ending(1.0, 0.05), canal_ending(3.0, 0.05)};
  result.canals[1].name = "MB";
  Criterion length = between(Figure::terminus_to_apex_mm, 0.0, 2.0);
  length.id = "length";
  Criterion density = no_void;
  density.id = "density";
  const Judged judged = judge(result, {"Name", "3", "Source 2012", "", 0.95, {length, density}});
  CHECK(judged.criteria_name == "Name");
  CHECK(judged.criteria_version == "3");
  CHECK(judged.criteria_source == "Source 2012");
  REQUIRE(judged.judgements.size() == 4);
  CHECK(judged.judgements[1].criterion == "density");
  CHECK(judged.judgements[2].canal == "MB");
  CHECK(judged.judgements[2].verdict == Verdict::outside);
}

TEST_CASE("the limit is told by the criteria's numbers, whatever their text says") {
  const CanalResult canal = canal_with({void_of(3.0, {0.2, 0.01}, 39.0), void_of(5.0, {0.6, 0.01}, 9.0)});
  CHECK(judge_canal(canal, between(Figure::terminus_to_apex_mm, 0.0, 5.0)).limit == "0 to 5 mm");
  CHECK(judge_canal(canal, up_to(Figure::taper_step_mm, 0.1)).limit == "≤ 0.1 mm");
  CHECK(judge_canal(canal, no_void).limit ==
        "none of score ≥ 5, ≥ 0.3 mm; 1 found doesn't count");
  CHECK(judge_canal(canal_with({}), no_void).limit == "none of score ≥ 5, ≥ 0.3 mm");
  const Criterion open{"id", "text", Figure::terminus_to_apex_mm, Limit{0.0, false}, Limit{2.0, true}, {}};
  CHECK(judge_canal(canal, open).limit == "> 0, ≤ 2 mm");
}

TEST_CASE("an instrument in place of a filling, and a fill whose marks are wrong, are not judged") {
  CanalResult canal = canal_ending(1.2, 0.06);
  for (const char* code : {"file-in-canal", "path-reversed", "path-turns-back", "taper-reversed", "apex-aside",
                           "apex-off-film", "outline-pinched", "scale-implausible"})
    for (const Criterion& criterion : {between(Figure::terminus_to_apex_mm, 0.0, 2.0), no_void}) {
      CAPTURE(code);
      canal.warnings = {{"end-uncertain", "Look at the end."}, {code, "This is why."}};
      const Judgement judgement = judge_canal(canal, criterion);
      CHECK(judgement.verdict == Verdict::not_assessable);
      CHECK_FALSE(judgement.probability_within);
      CHECK(says(judgement, "This is why."));
    }
  canal.warnings = {{"far-beyond-apex", "Look at the apex mark."}};
  CHECK(judge_canal(canal, no_void).verdict == Verdict::within);
}

TEST_CASE("without a coronal level the fill has no thirds, and a criterion on one is not assessable") {
  CanalResult canal = canal_with({void_of(3.0, {0.6, 0.01}, 39.0)});
  canal.coronal_level_mm.reset();
  canal.not_assessable = {{"coronal_level_mm", {}, {}, "goes-on-coronally", "The fill goes on."}};
  VoidSelection middle = counted;
  middle.third = Third::middle;
  const Judgement judgement = judge_canal(canal, up_to(Figure::void_count, 0.0, middle));
  CHECK(judgement.verdict == Verdict::not_assessable);
  CHECK(says(judgement, "The fill goes on."));
  CHECK(judge_canal(canal, no_void).verdict == Verdict::outside);
}
