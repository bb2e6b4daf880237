#include <doctest/doctest.h>

#include <canalrule/report/document.hpp>
#include <pugixml.hpp>
#include <set>
#include <string>

#include "../../../src/report/html_style.hpp"
#include "sample_charts.hpp"

using namespace canalrule::report;

namespace {

pugi::xml_document parsed(const std::string& html) {
  pugi::xml_document document;
  const pugi::xml_parse_result read = document.load_buffer(html.data(), html.size(), pugi::parse_full);
  REQUIRE_MESSAGE(read, read.description());
  return document;
}

std::string all_text(const pugi::xml_document& document) {
  std::string text;
  for (const pugi::xpath_node& each : document.select_nodes("//text()[not(ancestor::style)]"))
    text += std::string(each.node().value()) + "\n";
  return text;
}

/// One section with these blocks.
Document with(std::vector<Block> blocks) {
  Document document;
  document.title = "A page";
  document.sections = {{"only", "The only section", std::move(blocks)}};
  return document;
}

}  // namespace

TEST_CASE("the page is well formed, has a language, a title, landmarks, and one heading of each section") {
  const std::string html = html_document(sample::document());
  CHECK(html.starts_with("<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\""));
  const pugi::xml_document document = parsed(html);
  CHECK(std::string(document.select_node("/html/head/title").node().text().get()) ==
        "Every chart with invented figures");
  for (const char* landmark : {"header", "main", "nav", "footer"})
    CHECK(document.select_nodes(("/html/body/" + std::string(landmark)).c_str()).size() == 1);
  CHECK(document.select_nodes("//h1").size() == 1);
  CHECK(document.select_nodes("//h2").size() == 3);
}

TEST_CASE("every id is unique, and every reference inside the page leads to one") {
  const pugi::xml_document document = parsed(html_document(sample::document()));
  std::set<std::string> ids;
  for (const pugi::xpath_node& each : document.select_nodes("//@id"))
    CHECK_MESSAGE(ids.insert(each.attribute().value()).second, each.attribute().value());
  std::size_t references = 0;
  for (const pugi::xpath_node& each : document.select_nodes("//@aria-labelledby")) {
    const std::string value = each.attribute().value();
    for (std::size_t at = 0; at < value.size();) {
      const std::size_t end = std::min(value.find(' ', at), value.size());
      CHECK(ids.contains(value.substr(at, end - at)));
      at = end + 1;
      ++references;
    }
  }
  CHECK(references >= 2 * 12);
  for (const pugi::xpath_node& each : document.select_nodes("//a/@href")) {
    const std::string value = each.attribute().value();
    if (value.starts_with("#")) CHECK(ids.contains(value.substr(1)));
  }
  for (const pugi::xpath_node& each : document.select_nodes("//@*[contains(., 'url(')]")) {
    const std::string value = each.attribute().value();
    REQUIRE(value.starts_with("url(#"));
    CHECK(ids.contains(value.substr(5, value.size() - 6)));
  }
}

TEST_CASE("the page asks nothing of the outside and holds no script") {
  const std::string html = html_document(sample::document());
  const pugi::xml_document document = parsed(html);
  for (const char* name : {"script", "iframe", "object", "embed", "img", "base", "form"})
    CHECK(document.select_nodes(("//*[local-name()='" + std::string(name) + "']").c_str()).empty());
  CHECK(document.select_nodes("//@src | //@onload | //@onclick | //@style").empty());
  CHECK(html.find("http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';") !=
        std::string::npos);
  CHECK(std::string(html_style).find("url(") == std::string::npos);
  CHECK(std::string(html_style).find("@import") == std::string::npos);
}

TEST_CASE("the style holds nothing that a reader of HTML and one of XML take differently") {
  CHECK(std::string(html_style).find_first_of("<>&") == std::string::npos);
}

TEST_CASE("no element but those that HTML closes by itself is empty") {
  const pugi::xml_document document = parsed(html_document(sample::document()));
  for (const pugi::xpath_node& each :
       document.select_nodes("//*[not(node()) and not(ancestor-or-self::svg)]")) {
    const std::string name = each.node().name();
    CHECK_MESSAGE((name == "meta" || name == "link"), name);
  }
}

TEST_CASE("tables have a caption, heads of columns and of rows") {
  const pugi::xml_document document = parsed(html_document(sample::document()));
  const auto tables = document.select_nodes("//table");
  CHECK(tables.size() == 7);
  for (const pugi::xpath_node& each : tables) {
    CHECK(each.node().select_nodes("caption").size() == 1);
    CHECK(!std::string(each.node().child("caption").text().get()).empty());
    CHECK(each.node().select_nodes("thead/tr/th[@scope='col']").size() >= 2);
    CHECK(each.node().select_nodes("tbody/tr").size() ==
          each.node().select_nodes("tbody/tr/th[@scope='row']").size());
  }
  CHECK(all_text(document).find("There is nobody.") != std::string::npos);
}

TEST_CASE("every picture has a title and a description") {
  const pugi::xml_document document = parsed(html_document(sample::document()));
  const auto pictures = document.select_nodes("//svg");
  CHECK(pictures.size() == 12);
  for (const pugi::xpath_node& each : pictures) {
    CHECK(std::string(each.node().attribute("role").value()) == "img");
    CHECK(each.node().select_nodes("title").size() == 1);
    CHECK(!std::string(each.node().child("desc").text().get()).empty());
  }
}

TEST_CASE("text from files is text, wherever it stands") {
  const std::string evil = "</style></title><script>alert('x')</script>\" onload=\"y & z\x01\x1b\xff]]>";
  const std::string shown =
      "</style></title><script>alert('x')</script>\" onload=\"y & z\uFFFD\uFFFD\uFFFD]]>";
  SharesChart chart;
  chart.title = evil;
  chart.label = evil;
  chart.shares = {{evil, 3, 0.5, 0.6, Range{0.1, 0.9}}};
  Document document = with({Paragraph{evil}, Facts{{{evil, evil}}}, Bullets{{evil}},
                            Table{evil, {{evil}}, {{evil}}}, Table{evil, {{evil}}, {}, evil},
                            Figure{chart, evil}, Drawing{Scene{10.0, 10.0, evil, evil, {}}, evil},
                            Paragraph{Phrase{evil, Phrase::Style::strong, "a b\"><script>.svg"}}});
  document.title = evil;
  document.lead = evil;
  document.foot = {evil};
  const std::string html = html_document(document);
  CHECK(html.find("<script") == std::string::npos);
  CHECK(html.find('\x01') == std::string::npos);
  const pugi::xml_document out = parsed(html);
  CHECK(out.select_nodes("//script | //@onload").empty());
  const std::string text = all_text(out);
  std::size_t times = 0;
  for (std::size_t at = text.find(shown); at != std::string::npos; at = text.find(shown, at + 1)) ++times;
  CHECK(times >= 14);
  CHECK(std::string(out.select_node("//p//a/@href").attribute().value()) ==
        "a b\"><script>.svg");
}

TEST_CASE("pieces of a line keep the spaces between them, and no others") {
  const std::string html = html_document(
      with({Paragraph{std::vector<Phrase>{{"one "}, {"two", Phrase::Style::strong}, {", three"}}}}));
  CHECK(html.find("<p>one <strong>two</strong>, three</p>") != std::string::npos);
}

TEST_CASE("nothing at all still makes a page") {
  const pugi::xml_document document = parsed(html_document({}));
  CHECK(all_text(document).find("There is nothing to show.") != std::string::npos);
  CHECK(pdf_document({}).starts_with("%PDF-1.5"));
}

TEST_CASE("the same document gives the same bytes") {
  CHECK(html_document(sample::document()) == html_document(sample::document()));
  CHECK(pdf_document(sample::document()) == pdf_document(sample::document()));
}
