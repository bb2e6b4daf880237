#include "sheets.hpp"

#include <algorithm>

#include "chart_frame.hpp"
#include "plain_text.hpp"

namespace canalrule::report {
namespace {

constexpr double size_body = 9.0;
constexpr double size_remark = 8.0;
constexpr double name_width = 120.0;
constexpr double between = 5.0;
constexpr double heading_room = 60.0;  // a picture leaves this much of a sheet to its heading and caption

double scale_of(const Scene& scene, double width, double height) {
  return std::min({1.0, width / scene.width, height / scene.height});
}

/// Lines of words from here on; goes on to the next sheet where it must.
void flow_words(Flow& flow, const Words& words, double size, double indent, Weight weight = Weight::normal) {
  const SetLines set = set_words(words, size, flow.width() - indent, weight);
  for (std::size_t i = 0; i < set.lines.size(); ++i) {
    flow.need(line_height(size));
    draw_line(flow.items(), set, i, flow.left() + indent, flow.y() + 0.93 * size, Column::Holds::text,
              flow.width(), weight);
    flow.skip(line_height(size));
  }
}

void flow_caption(Flow& flow, const std::string& caption) {
  if (caption.empty()) return;
  flow_words(flow, caption, size_body, 0.0, Weight::bold);
  flow.skip(2.0);
}

/// The least room in which a block begins, so that its heading stays with it.
class Start {
 public:
  explicit Start(const Flow& flow) : flow_(flow) {}
  double operator()(const Paragraph&) const { return 2.0 * line_height(size_body); }
  double operator()(const Facts&) const { return 2.0 * line_height(size_body); }
  double operator()(const Bullets&) const { return 2.0 * line_height(size_body); }
  double operator()(const Table& table) const { return table_start(table); }
  double operator()(const Drawing& drawing) const {
    return drawing.lies == Drawing::Lies::on_a_sheet_of_its_own ? 0.0 : scene_start(drawing.scene);
  }
  double operator()(const Figure& shown) const { return scene_start(chart_scene(shown.chart)); }

 private:
  double scene_start(const Scene& scene) const {
    return scene.height * scale_of(scene, flow_.width(), flow_.sheet_height() - 2.0 * heading_room) +
           heading_room;
  }
  const Flow& flow_;
};

class Writer {
 public:
  explicit Writer(Flow& flow) : flow_(flow) {}

  void operator()(const Paragraph& paragraph) {
    const double size = paragraph.kind == Paragraph::Kind::small ? size_remark : size_body;
    if (paragraph.kind != Paragraph::Kind::caution) {
      flow_words(flow_, paragraph.words, size, 0.0);
      flow_.skip(between);
      return;
    }
    constexpr double indent = 9.0;
    const double tall = set_words(paragraph.words, size, flow_.width() - indent).height();
    flow_.need(std::min(tall, flow_.sheet_height()));
    const double bar = flow_.left() + 1.5;
    flow_.items().emplace_back(
        Line{{{bar, flow_.y()}, {bar, flow_.y() + std::min(tall, flow_.left_on_sheet())}}, {ink, 2.4}});
    flow_words(flow_, paragraph.words, size, indent);
    flow_.skip(between);
  }

  void operator()(const Facts& facts) {
    for (const Facts::Fact& fact : facts.facts) {
      const SetLines name = set_words(fact.name, size_body, name_width - 8.0, Weight::bold);
      const SetLines words = set_words(fact.words, size_body, flow_.width() - name_width);
      flow_.need(std::min(std::max(name.height(), words.height()), flow_.sheet_height()));
      double base = flow_.y() + 0.93 * size_body;
      for (std::size_t i = 0; i < name.lines.size(); ++i) {
        draw_line(flow_.items(), name, i, flow_.left(), base, Column::Holds::text, name_width, Weight::bold);
        base += line_height(size_body);
      }
      const double end = flow_.y() + name.height();
      flow_words(flow_, fact.words, size_body, name_width);
      if (flow_.y() < end && words.height() < name.height()) flow_.skip(end - flow_.y());
      flow_.skip(1.5);
    }
    flow_.skip(between);
  }

  void operator()(const Bullets& bullets) {
    constexpr double indent = 12.0;
    for (const Words& item : bullets.items) {
      flow_.need(line_height(size_body));
      flow_.items().emplace_back(
          Text{{flow_.left() + 3.0, flow_.y() + 0.93 * size_body}, "•", size_body, ink});
      flow_words(flow_, item, size_body, indent);
      flow_.skip(1.5);
    }
    flow_.skip(between);
  }

  void operator()(const Table& table) {
    if (!table.rows.empty()) {
      flow_table(flow_, table);
      return;
    }
    flow_words(
        flow_,
        std::vector<Phrase>{Phrase{table.caption + ": ", Phrase::Style::strong}, Phrase{table.when_empty}},
        size_remark, 0.0);
    flow_.skip(between);
  }

  void operator()(const Drawing& drawing) {
    if (drawing.lies == Drawing::Lies::on_a_sheet_of_its_own) {
      flow_.place_across(drawing.scene);
      return;
    }
    place(drawing.scene, drawing.caption);
  }

  void operator()(const Figure& shown) {
    const Table table = chart_table(shown.chart);
    place(chart_scene(shown.chart), table.caption);
    if (!table.rows.empty()) flow_table(flow_, table);
    if (!shown.remark.empty()) (*this)(Paragraph{shown.remark, Paragraph::Kind::small});
  }

 private:
  void place(const Scene& scene, const std::string& caption) {
    const double scale = scale_of(scene, flow_.width(), flow_.sheet_height() - 2.0 * heading_room);
    const double head = set_words(caption, size_body, flow_.width(), Weight::bold).height() + 2.0;
    flow_.need(std::min(flow_.sheet_height(), head + scene.height * scale));
    flow_caption(flow_, caption);
    flow_.place(scene, scale);
    flow_.skip(between + 3.0);
  }

  Flow& flow_;
};

void flow_section(Flow& flow, const Section& section, int level) {
  const double size = level == 2 ? 12.0 : 10.0;
  if (section.begins == Section::Begins::on_a_new_sheet) flow.new_sheet();
  const double head = line_height(size) + 14.0;
  const double first =
      section.blocks.empty() ? 2.0 * line_height(size_body) : std::visit(Start(flow), section.blocks.front());
  flow.need(std::min(head + first, flow.sheet_height()));
  flow.skip(level == 2 ? 8.0 : 4.0);
  if (level == 2) {
    flow.items().emplace_back(
        Line{{{flow.left(), flow.y()}, {flow.left() + flow.width(), flow.y()}}, {ink, 1.2}});
    flow.skip(4.0);
  }
  flow_words(flow, section.heading, size, 0.0, Weight::bold);
  flow.skip(3.0);
  for (const Block& block : section.blocks) std::visit(Writer(flow), block);
  for (const Section& part : section.parts) flow_section(flow, part, level + 1);
}

}  // namespace

Flow::Flow() { begin_sheet(); }

void Flow::begin_sheet() {
  sheets_.push_back({{0.0, 0.0, a4_short, a4_long}, {}, {}});
  y_ = sheet_margin;
}

void Flow::need(double height) {
  if (height > left_on_sheet() + 1e-6 && !fresh()) begin_sheet();
}

void Flow::new_sheet() {
  if (!fresh()) begin_sheet();
}

void Flow::place(const Scene& scene, double scale) {
  sheets_.back().placements.push_back({scene, {left(), y_}, scale});
  y_ += scene.height * scale;
}

void Flow::place_across(const Scene& scene) {
  if (fresh()) sheets_.pop_back();
  const double scale = scale_of(scene, a4_long, a4_short);
  const Point at{(a4_long - scene.width * scale) / 2.0, (a4_short - scene.height * scale) / 2.0};
  sheets_.push_back({{0.0, 0.0, a4_long, a4_short}, {}, {{scene, at, scale}}});
  begin_sheet();
}

std::vector<Sheet> Flow::sheets() && {
  if (sheets_.size() > 1 && fresh()) sheets_.pop_back();
  return std::move(sheets_);
}

std::vector<Sheet> sheets_of(const Document& document) {
  Flow flow;
  flow_words(flow, document.title, 15.0, 0.0, Weight::bold);
  if (!document.lead.phrases.empty()) flow_words(flow, document.lead, size_body, 0.0);
  flow.skip(4.0);
  for (const Section& section : document.sections) flow_section(flow, section, 2);
  if (document.sections.empty()) flow_words(flow, "There is nothing to show.", size_body, 0.0);
  if (!document.foot.empty()) {
    flow.need(3.0 * line_height(size_remark));
    flow.skip(6.0);
    flow.items().emplace_back(
        Line{{{flow.left(), flow.y()}, {flow.left() + flow.width(), flow.y()}}, {ink, 0.8}});
    flow.skip(4.0);
    for (const std::string& line : document.foot) flow_words(flow, line, size_remark, 0.0);
  }
  std::vector<Sheet> sheets = std::move(flow).sheets();
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    const Box& whole = sheets[i].whole;
    const std::string number = std::to_string(i + 1) + " / " + std::to_string(sheets.size());
    const double base = whole.bottom() - 18.0;
    sheets[i].items.emplace_back(
        Text{{whole.right() - sheet_margin, base}, number, size_ticks - 1.5, ink_soft, Anchor::end});
    sheets[i].items.emplace_back(Text{{sheet_margin, base},
                                      fitted(clean(document.title), size_ticks - 1.5, whole.width - 140.0),
                                      size_ticks - 1.5,
                                      ink_soft});
  }
  return sheets;
}

}  // namespace canalrule::report
