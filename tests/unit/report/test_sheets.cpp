#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/report/report.hpp>
#include <map>
#include <string>

#include "../../../src/report/sheets.hpp"
#include "sample_charts.hpp"
#include "sample_result.hpp"

using namespace canalrule;
using namespace canalrule::report;

namespace {

std::vector<Text> texts_of(const Sheet& sheet) {
  std::vector<Text> texts;
  for (const Item& item : sheet.items)
    if (const auto* text = std::get_if<Text>(&item)) texts.push_back(*text);
  return texts;
}

Document with(std::vector<Block> blocks) {
  Document document;
  document.title = "On paper";
  document.sections = {{"only", "The only section", std::move(blocks)}};
  return document;
}

/// A table of so many rows; each row's cells begin with its number, and the last is `lines` lines long.
Table numbered(std::size_t rows, std::size_t words) {
  Table table{"A long one", {{"Row"}, {"Figure", Column::Holds::figure}, {"Words"}}, {}};
  for (std::size_t i = 0; i < rows; ++i) {
    std::string text;
    for (std::size_t word = 0; word < words; ++word) text += "row" + std::to_string(i) + " words that go on ";
    table.rows.push_back(
        {"row" + std::to_string(i), std::to_string(i) + ".5", text + "row" + std::to_string(i)});
  }
  return table;
}

}  // namespace

TEST_CASE("everything lies inside the margins of its sheet") {
  Document document = sample::document();
  document.sections.push_back({"long", "A long table", {numbered(150, 3)}});
  const std::vector<Sheet> sheets = sheets_of(document);
  CHECK(sheets.size() > 5);
  for (const Sheet& sheet : sheets) {
    for (const Text& text : texts_of(sheet)) {
      const double wide = text_width(text.text, text.size, text.weight);
      const double left = text.anchor == Anchor::end ? text.at.x - wide : text.at.x;
      CAPTURE(text.text);
      CHECK(left >= sheet_margin - 0.1);
      CHECK(left + wide <= sheet.whole.width - sheet_margin + 0.1);
      CHECK(text.at.y >= sheet_margin);
      CHECK(text.at.y <= sheet.whole.height - 15.0);
    }
    for (const Placement& placed : sheet.placements) {
      CHECK(placed.at.x + placed.scene.width * placed.scale <= sheet.whole.width - sheet_margin + 0.1);
      CHECK(placed.at.y + placed.scene.height * placed.scale <= sheet.whole.height - sheet_margin + 0.1);
    }
  }
}

TEST_CASE("no row is parted by the end of a sheet, none is lost, and each sheet repeats the heads") {
  const std::vector<Sheet> sheets = sheets_of(with({numbered(120, 8)}));
  REQUIRE(sheets.size() > 2);
  std::map<std::string, std::size_t> sheet_of_row;
  std::size_t lines = 0;
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    bool head = false;
    for (const Text& text : texts_of(sheets[i])) {
      head = head || (text.text == "Figure" && text.weight == Weight::bold);
      const std::size_t at = text.text.find("row");
      if (at == std::string::npos) continue;
      const std::string row = text.text.substr(at, text.text.find(' ', at) - at);
      CHECK(sheet_of_row.try_emplace(row, i).first->second == i);
      ++lines;
    }
    CHECK(head);
  }
  CHECK(sheet_of_row.size() == 120);
  CHECK(lines > 3 * 120);  // the long cells are broken into lines
}

TEST_CASE("a row taller than a sheet goes on to the next") {
  Table table = numbered(1, 2000);
  const std::vector<Sheet> sheets = sheets_of(with({std::move(table)}));
  REQUIRE(sheets.size() > 2);
  std::size_t words = 0;
  for (const Sheet& sheet : sheets)
    for (const Text& text : texts_of(sheet))
      for (std::size_t at = text.text.find("row0"); at != std::string::npos;
           at = text.text.find("row0", at + 1))
        ++words;
  CHECK(words == 2002);
}

TEST_CASE("a heading stays with what it heads") {
  std::vector<Block> filler(44, Paragraph{"a line that fills the sheet"});
  for (std::size_t lines = 30; lines < 44; ++lines) {
    Document document =
        with(std::vector<Block>(filler.begin(), filler.begin() + static_cast<std::ptrdiff_t>(lines)));
    document.sections.push_back({"next", "Next heading", {Figure{sample::charts()[0], ""}}});
    const std::vector<Sheet> sheets = sheets_of(document);
    for (const Sheet& sheet : sheets) {
      const std::vector<Text> texts = texts_of(sheet);
      const bool heading =
          std::ranges::any_of(texts, [](const Text& text) { return text.text == "Next heading"; });
      CHECK(heading == !sheet.placements.empty());
    }
  }
}

TEST_CASE("a drawing too large for a sheet is made smaller, and one that lies across has its own") {
  const Scene large{2000.0, 4000.0, "large", "large", {}};
  const std::vector<Sheet> sheets =
      sheets_of(with({Drawing{large, "Large"}, Drawing{large, "", Drawing::Lies::on_a_sheet_of_its_own},
                      Paragraph{"after it"}}));
  REQUIRE(sheets.size() == 3);
  const Placement& smaller = sheets[0].placements.at(0);
  CHECK(smaller.at.y + large.height * smaller.scale <= a4_long - sheet_margin - sheet_foot);
  CHECK(large.height * smaller.scale > 0.8 * (a4_long - 2.0 * sheet_margin - sheet_foot));
  CHECK(sheets[1].whole.width > sheets[1].whole.height);
  CHECK(sheets[1].placements.at(0).scale == doctest::Approx(a4_short / 4000.0));
  CHECK(sheets[2].whole.width == a4_short);
}

TEST_CASE("a sign stays with its word, and a word longer than the line is broken") {
  const SetLines verdict = set_words(verdict_phrase(Verdict::outside), 8.0, 46.0);
  REQUIRE(verdict.lines.size() == 1);
  const SetLines third = set_words(
      std::vector<Phrase>{{"canals "}, {"outside", Phrase::Style::plain, {}, Verdict::outside}}, 8.0, 50.0);
  REQUIRE(third.lines.size() == 2);
  CHECK(third.lines[1].front().phrase.sign.has_value());
  CHECK(third.lines[1].back().phrase.text == "outside");
  const SetLines broken = set_words(std::string(200, 'w'), 8.0, 100.0);
  std::size_t letters = 0;
  for (const auto& line : broken.lines)
    for (const SetLines::Piece& piece : line) {
      CHECK(piece.x + piece.width <= 100.0);
      letters += piece.phrase.text.size();
    }
  CHECK(letters == 200);
}
