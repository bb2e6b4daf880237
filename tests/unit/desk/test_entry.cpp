// What a person types, with decimal point or comma.
#include <canalrule/desk/entry.hpp>

#include <doctest/doctest.h>

using namespace canalrule::desk;

TEST_CASE("numbers with point or comma, with or without the unit") {
  for (const char* text : {"21.5", "21,5", " 21.5 ", "21,5 mm", "21.5mm", "021.50"}) {
    CAPTURE(text);
    CHECK(entered_mm(text) == std::optional<double>(21.5));
  }
  CHECK(entered_mm("31") == std::optional<double>(31.0));
  CHECK(entered_mm(".3") == std::optional<double>(0.3));
  CHECK(entered_mm(",25 mm") == std::optional<double>(0.25));
  CHECK(entered_mm("5.") == std::optional<double>(5.0));
  for (const char* text : {"", " ", "mm", "-3", "+3", "1.234,5", "1,234.5", "2 1", "21.5 cm", "1e3", "nan",
                           "0x10", ".", "21..5", "1234567890123", "٣"}) {
    CAPTURE(text);
    CHECK_FALSE(entered_mm(text));
  }
}

TEST_CASE("a taper is mm per mm, or percent where it says so") {
  CHECK(entered_taper("0.06") == std::optional<double>(0.06));
  CHECK(entered_taper("0,06") == std::optional<double>(0.06));
  CHECK(entered_taper("6 %") == std::optional<double>(0.06));
  CHECK(entered_taper("6%") == std::optional<double>(0.06));
  CHECK_FALSE(entered_taper("6"));  // 6 mm per mm is none: nothing is guessed
  CHECK_FALSE(entered_taper("60 %"));
  CHECK_FALSE(entered_taper("%"));
}

TEST_CASE("what is shown has the point, no trailing zeros, and reads back") {
  CHECK(shown_number(21.0, 3) == "21");
  CHECK(shown_number(0.25, 3) == "0.25");
  CHECK(shown_number(1.0 / 3.0, 3) == "0.333");
  CHECK(shown_number(-0.0001, 2) == "0");
  for (int i = 0; i < 1000; ++i)
    CHECK(entered_mm(shown_number(i / 32.0, 5)) == std::optional<double>(i / 32.0));
}
