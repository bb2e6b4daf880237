#include <doctest/doctest.h>

#include <canalrule/report/audit_page.hpp>
#include <pugixml.hpp>
#include <string>
#include <vector>

using namespace canalrule;

namespace {

AuditHead head_of(std::size_t cases) {
  AuditHead head;
  head.program = "canalrule 0.1.0";
  head.opencv = "4.6.0";
  head.list_mark = "abc123";
  head.cases = cases;
  head.criteria.name = "for tests";
  head.criteria.version = "7";
  head.criteria.source = "no published source";
  Criterion length;
  length.id = "length";
  length.text = "Ends 0 to 2 mm short of the radiographic apex";
  length.lower = Limit{0.0, true};
  length.upper = Limit{2.0, false};
  head.criteria.criteria = {length};
  return head;
}

/// Every seventh case failed, every fifth of the others is not assessable, every third outside, every fourth
/// too close to call; two operators.
CaseRow row_of(std::size_t index) {
  CaseRow row;
  row.index = index;
  row.line = index + 2;
  row.name = "K" + std::to_string(index + 1);
  row.operated_by = index % 2 == 0 ? "O-B" : "O-A";
  if (index % 7 == 6) {
    row.reason = "reading: there is no such file; check the name";
    return row;
  }
  row.status = CaseStatus::measured;
  row.tooth = "11";
  row.film_sha256 = "film " + row.name;
  row.reading_sha256 = "reading " + row.name;
  row.picture = "pictures/" + row.name + ".svg";
  CanalRow canal;
  canal.figures.name = "1";
  canal.figures.terminus =
      Terminus{{1.0, 2.0}, 0.1 * static_cast<double>(index % 30), 0.05, Side::short_of, {}};
  canal.figures.voids.emplace();
  const Verdict verdict = index % 5 == 4   ? Verdict::not_assessable
                          : index % 3 == 2 ? Verdict::outside
                          : index % 4 == 3 ? Verdict::too_close_to_call
                                           : Verdict::within;
  canal.verdicts = {{verdict, 0.5, "why it is so"}};
  canal.together = verdict;
  row.canals = {canal};
  return row;
}

RowSource rows_of(std::size_t cases) {
  return [cases](const RowVisitor& visit) {
    for (std::size_t i = 0; i < cases; ++i) visit(row_of(i));
  };
}

std::vector<AuditPage> pages_of(const AuditHead& head, const RowSource& rows,
                                const std::optional<Comparison>& against = std::nullopt) {
  std::vector<AuditPage> pages;
  audit_pages(summarise(head, rows), against, rows, [&](const AuditPage& page) { pages.push_back(page); });
  return pages;
}

pugi::xml_document parsed(const std::string& html) {
  pugi::xml_document document;
  const pugi::xml_parse_result read = document.load_buffer(html.data(), html.size(), pugi::parse_full);
  REQUIRE_MESSAGE(read, read.description());
  return document;
}

std::string text_of(const pugi::xml_document& document, const char* path = "/html/body") {
  std::string text;
  for (const pugi::xpath_node& each : document.select_node(path).node().select_nodes(".//text()"))
    text += std::string(each.node().value()) + "|";
  return text;
}

}  // namespace

TEST_CASE("an audit's page says the rule and its source, and what could not be assessed before any share") {
  const std::vector<AuditPage> pages = pages_of(head_of(40), rows_of(40));
  REQUIRE(pages.size() == 1);
  CHECK(pages[0].file == "report.html");
  const pugi::xml_document document = parsed(pages[0].html);
  const std::string text = text_of(document, "//main");
  for (const char* expected :
       {"no published source", "at least 0 mm", "less than 2 mm", "canalrule 0.1.0", "Cautions",
        "No exposure is ever justified by a measurement.", "design effect"}) {
    CAPTURE(expected);
    CHECK(text.find(expected) != std::string::npos);
  }
  const std::size_t first_share = text.find("Share within, %");
  REQUIRE(first_share != std::string::npos);
  CHECK(text.find("there is no such file") < first_share);
  CHECK(text.find("Canals not assessable, by criterion") < first_share);
  CHECK(text.find("Cases that could not be measured") < first_share);
}

TEST_CASE("the counts on the page are those of the rows") {
  const pugi::xml_document document = parsed(pages_of(head_of(40), rows_of(40))[0].html);
  std::size_t failed = 0, within = 0, outside = 0, close = 0, unknown = 0;
  for (std::size_t i = 0; i < 40; ++i) {
    const CaseRow row = row_of(i);
    if (row.status == CaseStatus::failed) {
      ++failed;
      continue;
    }
    const Verdict verdict = row.canals[0].together;
    ++(verdict == Verdict::within              ? within
       : verdict == Verdict::outside           ? outside
       : verdict == Verdict::too_close_to_call ? close
                                               : unknown);
  }
  const pugi::xml_node row =
      document.select_node("//table[caption='Canals by verdict']/tbody/tr[th='All criteria together']")
          .node();
  std::vector<std::string> cells;
  for (const pugi::xml_node cell : row.children("td")) cells.emplace_back(cell.text().get());
  REQUIRE(cells.size() == 6);
  CHECK(cells[0] == std::to_string(within));
  CHECK(cells[1] == std::to_string(outside));
  CHECK(cells[2] == std::to_string(close));
  CHECK(cells[3] == std::to_string(unknown));
  CHECK(cells[4].find(" to ") != std::string::npos);  // too close to call is carried through
  const auto failures =
      document.select_nodes("//section[@aria-labelledby='cases']//tr[td[strong='not measured']]");
  CHECK(failures.size() == failed);
}

TEST_CASE("operators stand by name, not by rank, and those with few cases are marked") {
  const pugi::xml_document document = parsed(pages_of(head_of(12), rows_of(12))[0].html);
  std::vector<std::string> names;
  for (const pugi::xpath_node& each :
       document.select_nodes("//table[caption='Cases and canals, by operator']/tbody/tr/th"))
    names.emplace_back(each.node().text().get());
  CHECK(names == std::vector<std::string>{"O-A *", "O-B *"});
}

TEST_CASE("a list longer than a page is parted, and no case is lost") {
  const std::size_t cases = 2 * most_cases_on_a_page + 30;
  const std::vector<AuditPage> pages = pages_of(head_of(cases), rows_of(cases));
  REQUIRE(pages.size() == 4);
  const pugi::xml_document report = parsed(pages[0].html);
  std::size_t listed = 0;
  for (std::size_t i = 1; i < pages.size(); ++i) {
    CHECK(pages[i].file == "cases-000" + std::to_string(i) + ".html");
    CHECK(report.select_nodes(("//a[@href='" + pages[i].file + "']").c_str()).size() == 1);
    const pugi::xml_document page = parsed(pages[i].html);
    CHECK(page.select_nodes("//a[@href='report.html']").size() == 1);
    for (const pugi::xpath_node& row : page.select_nodes("//tbody/tr"))
      CHECK(std::string(row.node().child("th").text().get()) == "K" + std::to_string(++listed));
  }
  CHECK(listed == cases);
}

TEST_CASE("a case's name is text") {
  const RowSource rows = [](const RowVisitor& visit) {
    CaseRow row = row_of(0);
    row.name = "<script>alert(1)</script>\x02";
    row.picture = "pictures/\"><script>.svg";
    visit(row);
  };
  const std::string html = pages_of(head_of(1), rows)[0].html;
  CHECK(html.find("<script") == std::string::npos);
  CHECK(text_of(parsed(html)).find("<script>alert(1)</script>\uFFFD") != std::string::npos);
}

TEST_CASE("an earlier audit has its section only where there is one") {
  const AuditHead head = head_of(40);
  CHECK(pages_of(head, rows_of(40))[0].html.find("Compared with the earlier audit") == std::string::npos);
  const AuditSummary now = summarise(head, rows_of(40));
  const std::string html = pages_of(head, rows_of(40), compare(now, head, rows_of(40)))[0].html;
  const std::string text = text_of(parsed(html), "//section[@aria-labelledby='compared']");
  CHECK(text.find("Change in percentage points") != std::string::npos);
  CHECK(text.find("the same criteria in both") != std::string::npos);
}

TEST_CASE("an audit of nothing that could be measured still has its page") {
  const RowSource rows = [](const RowVisitor& visit) { visit(row_of(6)); };
  const pugi::xml_document document = parsed(pages_of(head_of(1), rows)[0].html);
  CHECK(text_of(document).find("none counted") != std::string::npos);
}

TEST_CASE("the same audit gives the same bytes") {
  const std::vector<AuditPage> once = pages_of(head_of(50), rows_of(50));
  const std::vector<AuditPage> again = pages_of(head_of(50), rows_of(50));
  CHECK(once[0].html == again[0].html);
}
