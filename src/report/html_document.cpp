#include <canalrule/base/fault.hpp>
#include <canalrule/report/document.hpp>
#include <pugixml.hpp>
#include <set>
#include <sstream>

#include "draw_svg.hpp"
#include "html_style.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

/// Rows from which on a chart's table stands below it on paper, where it may go on to the next sheet.
constexpr std::size_t long_table = 24;

void set(pugi::xml_node node, const char* name, const std::string& value) {
  node.append_attribute(name).set_value(value.c_str());
}

void say(pugi::xml_node node, const std::string& text) {
  node.append_child(pugi::node_pcdata).set_value(text.c_str());
}

pugi::xml_node element(pugi::xml_node parent, const char* name, const char* kind = nullptr) {
  pugi::xml_node node = parent.append_child(name);
  if (kind != nullptr) set(node, "class", kind);
  return node;
}

/// The sign of a verdict as a letter.
const char* sign_letter(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return "●";
    case Verdict::outside:
      return "✖";
    case Verdict::too_close_to_call:
      return "◐";
    case Verdict::not_assessable:
      return "○";
  }
  fault("a verdict is one of four");
}

bool nothing_in(const Words& words) {
  for (const Phrase& phrase : words.phrases) {
    if (!phrase.text.empty() || phrase.sign) return false;
  }
  return true;
}

/// Each piece in its style. Text is cleaned, but a space at its ends still parts it from its neighbours.
void write(pugi::xml_node parent, const Words& words) {
  if (nothing_in(words)) {
    say(parent, std::string(unknown));  // no element is ever empty: HTML would read it as one left open
    return;
  }
  for (const Phrase& phrase : words.phrases) {
    pugi::xml_node node = parent;
    if (phrase.style == Phrase::Style::strong) node = element(node, "strong");
    if (phrase.style == Phrase::Style::soft) node = element(node, "span", "soft");
    if (!phrase.link.empty()) {
      node = element(node, "a");
      set(node, "href", clean(phrase.link));
    }
    if (phrase.sign) {
      pugi::xml_node sign = element(node, "span", "sign");
      set(sign, "aria-hidden", "true");
      say(sign, sign_letter(*phrase.sign));
    }
    std::string text = clean(phrase.text);
    if (phrase.text.starts_with(' ') && !text.empty()) text.insert(0, " ");
    if (phrase.text.ends_with(' ')) text += " ";
    if (text.empty() && !phrase.sign && node != parent) text = std::string(unknown);
    if (!text.empty()) say(node, text);
  }
}

void write(pugi::xml_node parent, const Table& table) {
  ensure(!table.columns.empty(), "a table has columns");
  if (table.rows.empty()) {
    pugi::xml_node line = element(parent, "p");
    say(element(line, "strong"), clean(table.caption) + ": ");
    say(line, clean(table.when_empty));
    return;
  }
  // A table wider than a small screen is scrolled by itself, also from the keyboard.
  pugi::xml_node region = element(parent, "div", "scroll");
  set(region, "role", "region");
  set(region, "tabindex", "0");
  set(region, "aria-label", clean(table.caption) + ", table");
  pugi::xml_node node = element(region, "table");
  say(element(node, "caption"), clean(table.caption));
  const auto dress = [&](pugi::xml_node cell, std::size_t column) {
    if (table.columns[column].holds == Column::Holds::figure) set(cell, "class", "figure");
  };
  pugi::xml_node head = element(element(node, "thead"), "tr");
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    pugi::xml_node cell = element(head, "th");
    set(cell, "scope", "col");
    dress(cell, i);
    write(cell, table.columns[i].heading);
  }
  pugi::xml_node body = element(node, "tbody");
  for (const std::vector<Words>& row : table.rows) {
    ensure(row.size() == table.columns.size(), "a row has a cell for each column");
    pugi::xml_node line = element(body, "tr");
    for (std::size_t i = 0; i < row.size(); ++i) {
      pugi::xml_node cell = element(line, i == 0 ? "th" : "td");
      if (i == 0) set(cell, "scope", "row");
      dress(cell, i);
      write(cell, row[i]);
    }
  }
}

class Writer {
 public:
  Writer(pugi::xml_node parent, std::string id) : parent_(parent), id_(std::move(id)) {}

  void operator()(const Paragraph& paragraph) {
    const char* kind = paragraph.kind == Paragraph::Kind::small     ? "small"
                       : paragraph.kind == Paragraph::Kind::caution ? "caution"
                                                                    : nullptr;
    write(element(parent_, "p", kind), paragraph.words);
  }

  void operator()(const Facts& facts) {
    if (facts.facts.empty()) return;
    pugi::xml_node list = element(parent_, "dl");
    for (const Facts::Fact& fact : facts.facts) {
      write(element(list, "dt"), fact.name);
      write(element(list, "dd"), fact.words);
    }
  }

  void operator()(const Bullets& bullets) {
    if (bullets.items.empty()) return;
    pugi::xml_node list = element(parent_, "ul");
    for (const Words& item : bullets.items) write(element(list, "li"), item);
  }

  void operator()(const Table& table) { write(parent_, table); }

  void operator()(const Drawing& drawing) {
    const bool across = drawing.lies == Drawing::Lies::on_a_sheet_of_its_own;
    pugi::xml_node figure = element(parent_, "figure", across ? "across" : nullptr);
    if (!drawing.caption.empty()) write(element(figure, "figcaption"), drawing.caption);
    append_svg(figure, drawing.scene, prefix());
  }

  void operator()(const Figure& shown) {
    const Table table = chart_table(shown.chart);
    const bool is_long = table.rows.size() > long_table;
    pugi::xml_node figure = element(parent_, "figure", is_long ? "chart long" : "chart");
    write(element(figure, "figcaption"), table.caption);
    pugi::xml_node both = element(figure, "div", "drawn");
    append_svg(both, chart_scene(shown.chart), prefix());
    if (!table.rows.empty()) write(both, table);
    if (!shown.remark.empty()) write(element(figure, "p", "small"), shown.remark);
  }

 private:
  /// Unique within the document, as the section's id is.
  std::string prefix() { return id_ + "-picture-" + std::to_string(++pictures_) + "-"; }

  pugi::xml_node parent_;
  std::string id_;
  int pictures_ = 0;
};

void write(pugi::xml_node parent, const Section& section, int level, std::set<std::string>& ids) {
  ensure(ids.insert(section.id).second, "every section has an id of its own");
  const bool sheet = section.begins == Section::Begins::on_a_new_sheet;
  pugi::xml_node node = element(parent, "section", sheet ? "new-sheet" : nullptr);
  set(node, "aria-labelledby", section.id);
  pugi::xml_node heading = element(node, level == 2 ? "h2" : "h3");
  set(heading, "id", section.id);
  write(heading, section.heading);
  Writer writer(node, section.id);
  for (const Block& block : section.blocks) std::visit(writer, block);
  for (const Section& part : section.parts) write(node, part, level + 1, ids);
}

void write_head(pugi::xml_node html, const Document& document) {
  pugi::xml_node head = element(html, "head");
  set(element(head, "meta"), "charset", "utf-8");
  const auto meta = [&](const char* key, const char* name, const char* content) {
    pugi::xml_node node = element(head, "meta");
    set(node, key, name);
    set(node, "content", content);
  };
  // The browser itself sees to it that the page loads nothing.
  meta("http-equiv", "Content-Security-Policy",
       "default-src 'none'; style-src 'unsafe-inline'; img-src data:");
  meta("name", "viewport", "width=device-width, initial-scale=1");
  pugi::xml_node icon = element(head, "link");
  set(icon, "rel", "icon");
  set(icon, "href", "data:,");
  write(element(head, "title"), document.title);
  say(element(head, "style"), html_style);
}

void write_contents(pugi::xml_node body, const Document& document) {
  if (document.contents == Document::Contents::left_out || document.sections.empty()) return;
  pugi::xml_node contents = element(body, "nav", "contents");
  set(contents, "aria-label", "Contents");
  pugi::xml_node list = element(contents, "ul");
  for (const Section& section : document.sections)
    write(element(list, "li"), Phrase{section.heading, Phrase::Style::plain, "#" + section.id});
}

}  // namespace

Words verdict_phrase(Verdict verdict) {
  return Phrase{std::string(verdict_words(verdict)), Phrase::Style::plain, {}, verdict};
}

std::string html_document(const Document& document) {
  pugi::xml_document out;
  out.append_child(pugi::node_doctype).set_value("html");
  pugi::xml_node html = element(out, "html");
  set(html, "lang", document.language);
  write_head(html, document);
  pugi::xml_node body = element(html, "body");
  pugi::xml_node skip = element(body, "a", "skip");
  set(skip, "href", "#content");
  say(skip, "To the content");
  pugi::xml_node header = element(body, "header");
  write(element(header, "h1"), document.title);
  if (!nothing_in(document.lead)) write(element(header, "p", "lead"), document.lead);
  write_contents(body, document);
  pugi::xml_node main = element(body, "main");
  set(main, "id", "content");
  std::set<std::string> ids{"content"};
  for (const Section& section : document.sections) write(main, section, 2, ids);
  if (document.sections.empty()) say(element(main, "p"), "There is nothing to show.");
  if (!document.foot.empty()) {
    pugi::xml_node footer = element(body, "footer");
    for (const std::string& line : document.foot) write(element(footer, "p"), line);
  }
  std::ostringstream text;
  // Without indents: between pieces of a line every space counts.
  out.save(text, "", pugi::format_raw | pugi::format_no_declaration, pugi::encoding_utf8);
  return std::move(text).str() + "\n";
}

}  // namespace canalrule::report
