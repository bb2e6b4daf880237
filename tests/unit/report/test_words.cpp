// Rounding by JCGM 100:2008, 7.2.6; expanded uncertainty k = 2 by 6.2. The rest is what a person reads.
#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "../../../src/report/plain_text.hpp"
#include "../../../src/report/words.hpp"

using namespace canalrule;
using namespace canalrule::report;

namespace {

std::string seen(const std::string& words) { return plain_spaces(words); }

}  // namespace

TEST_CASE("a figure is printed to its decimals with a true minus sign and no negative zero") {
  CHECK(fixed(1.234, 2) == "1.23");
  CHECK(fixed(-1.236, 2) == "−1.24");
  CHECK(fixed(-0.001, 2) == "0.00");
  CHECK(fixed(12.0, 0) == "12");
  CHECK(fixed(1e300, 1).size() == 303);
}

TEST_CASE("what is not a number is a dash") {
  CHECK(fixed(std::nan(""), 2) == "–");
  CHECK(fixed(std::numeric_limits<double>::infinity(), 2) == "–");
  CHECK(seen(plus_minus(Quantity{std::nan(""), 0.1}, 2)) == "–");
  CHECK(seen(plus_minus(Quantity{1.0, std::nan("")}, 2)) == "1.00 ± –");
}

TEST_CASE("uncertainties are expanded with k = 2") {
  CHECK(seen(mm(Quantity{1.23, 0.061})) == "1.23 ± 0.12 mm");
  CHECK(seen(percent(Quantity{0.352, 0.041})) == "35 ± 8 %");
  CHECK(seen(taper_figure(Quantity{0.0612, 0.0014})) == "0.061 ± 0.003");
}

TEST_CASE("an uncertainty never prints as zero") {
  CHECK(seen(mm(Quantity{1.23, 0.0001})) == "1.23 ± 0.01 mm");
  CHECK(seen(mm(Quantity{1.23, 0.0})) == "1.23 ± 0.01 mm");
}

TEST_CASE("a figure without a set number of decimals shows two digits of its uncertainty") {
  CHECK(seen(plus_minus(Quantity{0.0298, 0.0001})) == "0.02980 ± 0.00020");
  CHECK(seen(plus_minus(Quantity{17.4, 1.6})) == "17.4 ± 3.2");
  CHECK(seen(plus_minus(Quantity{1234.0, 40.0})) == "1234 ± 80");
}

TEST_CASE("a void of under 3 standard deviations is told as one that may be chance") {
  Void found;
  found.score = 2.9;
  CHECK(may_be_chance(found));
  found.score = 2.98;  // as it is shown
  CHECK_FALSE(may_be_chance(found));
}

TEST_CASE("the terminus is said in the trade's words") {
  CHECK(seen(terminus_words({{}, 1.23, 0.06, Side::short_of, {}})) == "1.23 ± 0.12 mm short of the apex");
  CHECK(seen(terminus_words({{}, -0.4, 0.06, Side::beyond, {}})) == "0.40 ± 0.12 mm beyond the apex");
  CHECK(seen(terminus_words({{}, 0.03, 0.06, Side::at, {}})) == "at the apex (0.03 ± 0.12 mm short of it)");
  CHECK(seen(terminus_words({{}, -0.03, 0.06, Side::at, {}})) == "at the apex (0.03 ± 0.12 mm beyond it)");
}

TEST_CASE("a step's sign is that of widening towards the crown") {
  CHECK(seen(break_words({6.2, "step", {0.08, 0.015}, 5.0})) == "step of +0.08 ± 0.03 mm at 6.20 mm");
  CHECK(seen(break_words({6.2, "kink", {-0.02, 0.005}, 5.0})) == "kink, taper −0.020 ± 0.010 at 6.20 mm");
}

TEST_CASE("probabilities near 0 and 1 are not rounded to certainty") {
  CHECK(seen(probability(0.624)) == "62.4 %");
  CHECK(seen(probability(1.0)) == "> 99.9 %");
  CHECK(seen(probability(0.00004)) == "< 0.1 %");
}

TEST_CASE("a figure's path in the result is said in words") {
  CHECK(figure_words("taper.coronal") == "coronal taper");
  CHECK(figure_words("filled_length_mm") == "filled length");
  CHECK(figure_words("voids") == "voids");
}

TEST_CASE("a reason stands once, with all it takes away") {
  CanalResult canal;
  canal.not_assessable = {{"terminus", {}, {}, "no-fill", "No fill."},
                          {"voids", 2.0, 3.5, "overlap", "Overlap."},
                          {"width", {}, {}, "no-fill", "No fill."},
                          {"taper.apical", {}, {}, "too-short", ""}};
  const std::vector<Reason> reasons = grouped_reasons(canal);
  REQUIRE(reasons.size() == 3);
  CHECK(reasons[0].what == "terminus, width");
  CHECK(reasons[0].why == "No fill.");
  CHECK(seen(reasons[1].what) == "voids 2.00 to 3.50 mm");
  CHECK(reasons[2].why == "too short");
}
