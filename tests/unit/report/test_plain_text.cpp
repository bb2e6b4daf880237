// UTF-8 by RFC 3629; what may stand in a document by XML 1.0, 2.2.
#include <doctest/doctest.h>

#include "../../../src/report/labels.hpp"
#include "../../../src/report/look.hpp"
#include "../../../src/report/plain_text.hpp"

using namespace canalrule::report;

TEST_CASE(
    "control characters, direction overrides and malformed bytes are replaced, white space is one space") {
  CHECK(clean("molar\x1b[31m") == "molar\uFFFD[31m");
  CHECK(clean(std::string_view("a\0b", 3)) == "a\uFFFDb");
  CHECK(clean("a\t\r\n b ") == "a b");
  CHECK(clean("x\u202Egnp.x") == "x\uFFFDgnp.x");
  CHECK(clean("\xC0\xAF") == "\uFFFD\uFFFD");            // overlong
  CHECK(clean("\xED\xA0\x80") == "\uFFFD\uFFFD\uFFFD");  // surrogate
  CHECK(clean("\xF5\x80\x80\x80") == "\uFFFD\uFFFD\uFFFD\uFFFD");
  CHECK(clean("\xE2\x82") == "\uFFFD\uFFFD");  // cut off
  CHECK(clean("\uFFFE") == "\uFFFD");
  CHECK(clean("Zähne 歯 🦷") == "Zähne 歯 🦷");
}

TEST_CASE("columns are counted in code points") {
  CHECK(code_points("−1.2 ± …") == 8);
  CHECK(padded("±", 3) == "±  ");
  CHECK(first_code_points("äöü", 2) == "äö");
}

TEST_CASE("a long name gives way in its middle") {
  CHECK(shortened("short.png", 20) == "short.png");
  CHECK(shortened("a-very-long-name.dcm", 11) == "a-ver…e.dcm");
  CHECK(code_points(shortened("ääääääääää", 5)) == 5);
}

TEST_CASE("lines break at spaces, never between a figure and its unit, and long words inside") {
  using Lines = std::vector<std::string>;
  CHECK(wrapped("one two three", 7, 7) == Lines{"one two", "three"});
  CHECK(wrapped("at 1.23\u00A0mm", 9, 9) == Lines{"at", "1.23 mm"});
  CHECK(wrapped("abcdefghij", 4, 4) == Lines{"abcd", "efgh", "ij"});
  CHECK(wrapped("", 4, 4) == Lines{""});
  CHECK(wrapped("aa bb cc", 2, 5) == Lines{"aa", "bb cc"});
}

TEST_CASE("a line of the picture fits its width") {
  const std::string text =
      "Another fill lies over this one, so a void can't be told from its edge: "
      "pneumonoultramicroscopicsilicovolcanoconiosis";
  for (const double width : {40.0, 90.0, 300.0}) {
    for (const std::string& line : wrapped_to(text, 7.0, width, width)) CHECK(text_width(line, 7.0) <= width);
    CHECK(text_width(fitted(text, 7.0, width), 7.0) <= width);
  }
}

TEST_CASE("labels in a column keep apart, in order, inside it, and stay where they may") {
  const std::vector<Wish> wishes{{50, 10, 1}, {52, 10, 1}, {10, 10, 1}, {95, 10, 1}, {99, 10, 1}};
  const std::vector<Placed> placed = spread(wishes, 0, 100);
  REQUIRE(placed.size() == 5);
  CHECK(placed[0].wish == 2);
  CHECK(placed[0].middle == doctest::Approx(10));
  CHECK(placed[1].middle == doctest::Approx(46));
  CHECK(placed[2].middle == doctest::Approx(56));
  for (std::size_t i = 1; i < placed.size(); ++i)
    CHECK(placed[i].middle - placed[i - 1].middle >= 10.0 - 1e-9);
  CHECK(placed.back().middle <= 95.0 + 1e-9);
}

TEST_CASE("where there is no room for all labels the least ones give way") {
  const std::vector<Wish> wishes{{10, 10, 5}, {12, 10, 1}, {14, 10, 9}, {16, 10, 2}};
  const std::vector<Placed> placed = spread(wishes, 0, 25);
  REQUIRE(placed.size() == 2);
  CHECK(placed[0].wish == 0);
  CHECK(placed[1].wish == 2);
}
