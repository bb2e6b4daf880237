#include "canal_panel.hpp"

#include <canalrule/report/figures.hpp>

#include <algorithm>
#include <cmath>

#include "centre_line.hpp"
#include "labels.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double axis_width = 31.0;  // points, left of the plot
constexpr double title_height = 29.0;
constexpr double foot_height = 27.0;  // the scale of widths

/// A label to the right of the plot and where its leader starts.
struct Label {
  double at_mm = 0.0;
  double across_mm = 0.0;
  std::string text;
  Colour colour;
  double rank = 0.0;
  std::size_t number = 0;  ///< of a void; 0: none
};

class Panel {
 public:
  Panel(const CanalResult& canal, const Result& result, const UnrolledRange& range, const Box& box)
      : canal_(canal), result_(result), range_(range), box_(box) {
    const double labels = std::clamp(0.44 * box.width, 58.0, 150.0);
    roomy_ = labels > 75.0;
    const double wide = std::clamp(box.width - axis_width - labels, 30.0, 160.0);
    plot_ = {box.left + axis_width, box.top + title_height, wide, box.height - title_height - foot_height};
    along_ = plot_.height / (range.coronal_mm - range.apical_mm);
    across_ = plot_.width / (2.0 * range.half_width_mm);
    ground_ = Ground{[this](double at_mm, double across_mm) { return place(at_mm, across_mm); }, along_,
                     across_, on_paper};
  }

  std::vector<Item> draw() && {
    heading();
    thirds();
    body();
    stretches();
    planned();
    axes();
    levels();
    breaks();
    voids();
    labels();
    return std::move(items_);
  }

 private:
  Point place(double at_mm, double across_mm) const {
    return {plot_.left + plot_.width / 2.0 + across_mm * across_,
            plot_.bottom() - (at_mm - range_.apical_mm) * along_};
  }
  double y(double at_mm) const { return place(at_mm, 0.0).y; }
  /// Larger than its expanded uncertainty, so worth a label.
  static bool certain(const Quantity& figure) {
    return figure.value > coverage_factor * figure.standard_uncertainty;
  }
  double half_width(double at_mm) const {
    return width_near(canal_, at_mm).value_or(range_.half_width_mm) / 2.0;
  }

  void text(Point at, std::string words, double size, Colour colour, Anchor anchor, double turned = 0.0,
            Weight weight = Weight::normal) {
    items_.push_back(Text{at, std::move(words), size, colour, anchor, weight, turned, std::nullopt});
  }
  void line(Polyline points, const Stroke& stroke) {
    items_.push_back(Line{std::move(points), stroke, std::nullopt});
  }

  void heading() {
    text({box_.left + 2.0, box_.top + size_heading},
         "Canal " + fitted(clean(canal_.name), size_heading, box_.width - 50.0, Weight::bold), size_heading,
         ink, Anchor::start, 0.0, Weight::bold);
  }

  void thirds() {
    if (!canal_.terminus || !canal_.coronal_level_mm) return;
    const double low = canal_.terminus->to_apex_mm;
    const double third = (canal_.coronal_level_mm->value - low) / 3.0;
    if (!(third > 0.0)) return;
    int index = 0;
    for (const Third each : {Third::apical, Third::middle, Third::coronal}) {
      const double from = low + third * index++;
      if (index > 1)
        line({place(from, -range_.half_width_mm), place(from, range_.half_width_mm)},
             {rule_grey, 0.8, Dash::dashed});
      if (third * along_ > 30.0) {
        text({plot_.left - 24.0, y(from + third / 2.0)}, std::string(third_words(each)), size_small, ink_soft,
             Anchor::middle, -90.0);
      }
    }
  }

  /// The measured widths in runs: a stretch without stations, or one that can't be assessed, parts them.
  std::vector<std::vector<WidthAt>> runs() const {
    std::vector<std::vector<WidthAt>> out;
    std::vector<double> steps;
    for (std::size_t i = 1; i < canal_.width.size(); ++i)
      steps.push_back(canal_.width[i].at_mm - canal_.width[i - 1].at_mm);
    if (!steps.empty())
      std::nth_element(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2),
                       steps.end());
    const double usual = steps.empty() ? 0.0 : steps[steps.size() / 2];
    for (const WidthAt& width : canal_.width) {
      if (out.empty() || width.at_mm - out.back().back().at_mm > 2.5 * usual) out.emplace_back();
      out.back().push_back(width);
    }
    return out;
  }

  void body() {
    for (const std::vector<WidthAt>& run : runs()) {
      if (run.size() < 2) continue;
      const auto edge = [&](double side, double coverage) {
        Polyline points;
        for (const WidthAt& w : run) {
          points.push_back(place(w.at_mm, side * (w.width_mm + coverage * w.standard_uncertainty_mm) / 2.0));
        }
        return points;
      };
      const auto area = [](Polyline one, Polyline other, Colour colour) {
        one.insert(one.end(), other.rbegin(), other.rend());
        return Polygon{std::move(one), colour, std::nullopt};
      };
      items_.push_back(area(edge(-1.0, 0.0), edge(1.0, 0.0), body_fill));
      for (const double side : {-1.0, 1.0}) {
        items_.push_back(area(edge(side, -coverage_factor), edge(side, coverage_factor), band_fill));
        line(edge(side, 0.0), {on_paper.outline, 0.8, Dash::solid});
      }
    }
  }

  void stretches() {
    for (const NotAssessable& entry : stretches_not_assessable(canal_)) {
      const double from = std::clamp(*entry.from_mm, range_.apical_mm, range_.coronal_mm);
      const double to = std::clamp(*entry.to_mm, range_.apical_mm, range_.coronal_mm);
      add(items_, hatched_stretch(ground_, from, to, range_.half_width_mm));
      const std::string why = entry.reason.empty() ? reason_words(entry) : figure_words(entry.reason);
      const bool voids_alone = entry.figure == "voids";
      const char* what = roomy_ ? (voids_alone ? "voids not assessable: " : "not assessable: ")
                                : (voids_alone ? "voids: " : "");
      label({(from + to) / 2.0, range_.half_width_mm, what + why, ink_soft, 50.0, 0});
    }
    if (canal_.empty_canal && canal_.empty_canal->visible) {
      const EmptyCanal& empty = *canal_.empty_canal;
      const double half = half_width(empty.to_mm);
      add(items_, empty_sign(ground_, empty.from_mm, empty.to_mm, half));
      label({(empty.from_mm + empty.to_mm) / 2.0, half, roomy_ ? "canal seen empty" : "empty", ink_soft, 60.0,
             0});
    }
  }

  void planned() {
    for (const double side : {-1.0, 1.0}) {
      Polyline points;
      for (const auto& each : canal_.against_plan.width)
        points.push_back(place(each.at_mm, side * each.planned_mm / 2.0));
      if (points.size() >= 2) line(std::move(points), {on_paper.centre, 1.2, Dash::dashed});
    }
  }

  void axes() {
    const int numbered_every = along_ >= 9.0 ? 1 : along_ >= 5.0 ? 2 : 5;
    for (int at = static_cast<int>(std::ceil(range_.apical_mm)); at <= range_.coronal_mm + 1e-9; ++at) {
      const bool numbered = at % (2 * numbered_every) == 0;
      line({{plot_.left - (numbered ? 4.0 : 2.5), y(at)}, {plot_.left, y(at)}}, {ink, numbered ? 0.8 : 0.5});
      if (numbered)
        text({plot_.left - 6.0, y(at) + 0.36 * size_small}, fixed(at, 0), size_small, ink, Anchor::end);
    }
    text({plot_.left - 6.0, plot_.top - 8.0}, "mm from apex", size_small, ink_soft, Anchor::middle);
    items_.push_back(Polygon{{{plot_.left, plot_.top},
                              {plot_.right(), plot_.top},
                              {plot_.right(), plot_.bottom()},
                              {plot_.left, plot_.bottom()}},
                             std::nullopt,
                             Stroke{ink, 0.6}});
    line({place(range_.apical_mm, 0.0), place(range_.coronal_mm, 0.0)}, {ink_soft, 0.4, Dash::dash_dotted});
    const double step = range_.half_width_mm > 1.0 ? 0.5 : 0.25;
    const int steps = static_cast<int>(std::floor(range_.half_width_mm / step + 1e-9));
    for (int i = -steps; i <= steps; ++i) {
      const double x = place(range_.apical_mm, i * step).x;
      line({{x, plot_.bottom()}, {x, plot_.bottom() + (i % 2 == 0 ? 4.0 : 2.5)}}, {ink, 0.6});
      const bool room = step * across_ * 2.0 > 18.0;
      if (i % 2 == 0 && (room || i == 0 || std::abs(i) == steps - steps % 2)) {
        text({x, plot_.bottom() + 11.0}, i == 0 ? "0" : fixed(std::abs(i) * step, 1), size_small, ink,
             Anchor::middle);
      }
    }
    text({plot_.left + plot_.width / 2.0, plot_.bottom() + 20.0},
         "mm across, " + fixed(across_ / along_, 1) + " : 1", size_small, ink_soft, Anchor::middle);
  }

  void levels() {
    add(items_, apex_sign(ground_, range_.half_width_mm));
    label({0.0, range_.half_width_mm, roomy_ ? "radiographic apex" : "apex", on_paper.apex, 90.0, 0});
    if (canal_.coronal_level_mm) {
      const double at = canal_.coronal_level_mm->value;
      line({place(at, -range_.half_width_mm), place(at, range_.half_width_mm)}, {ink, 0.9, Dash::dotted});
      label({at, range_.half_width_mm, (roomy_ ? "coronal level " : "") + report::mm(at), ink, 40.0, 0});
    }
    for (const MaterialBeyond& piece : canal_.material_beyond_apex) {
      const double offset = 0.93 * range_.half_width_mm;
      add(items_, beyond_sign(ground_, piece.from_mm, piece.to_mm, offset));
      label({(piece.from_mm + piece.to_mm) / 2.0, offset,
             std::string(piece.kind == "fill" ? "fill " : "apart ") + (roomy_ ? "beyond, " : "") +
                 report::mm(piece.length_mm.value),
             on_paper.beyond, 80.0, 0});
    }
    if (canal_.terminus) {
      const double at = canal_.terminus->to_apex_mm;
      const double half = std::min(half_width(at) + 12.0 / across_, 0.8 * range_.half_width_mm);
      add(items_, terminus_sign(ground_, at, half));
      whisker(at, coverage_factor * canal_.terminus->standard_uncertainty_mm);
      const std::string where =
          canal_.terminus->side == Side::at
              ? std::string(side_words(Side::at))
              : report::mm(std::abs(at)) + " " + (canal_.terminus->side == Side::beyond ? "beyond" : "short");
      label({at, half, (roomy_ ? "terminus " : "") + where, on_paper.terminus, 100.0, 0});
    }
  }

  /// The expanded uncertainty of the terminus, up and down from it.
  void whisker(double at, double expanded) {
    const Stroke thin{on_paper.terminus, 0.8, Dash::solid};
    const double half_cap = 2.5 / across_;
    line({place(at - expanded, 0.0), place(at + expanded, 0.0)}, thin);
    for (const double end : {at - expanded, at + expanded})
      line({place(end, -half_cap), place(end, half_cap)}, thin);
  }

  void breaks() {
    for (const TaperBreak& each : canal_.taper.breaks) {
      const double half = half_width(each.at_mm);
      add(items_, break_sign(ground_, each.at_mm, half, each.kind));
      const std::string sign = each.step_mm.value > 0.0 ? "+" : "";
      const std::string what = each.kind == "kink"
                                   ? (roomy_ ? "kink, taper " : "kink ") + sign + fixed(each.step_mm.value, 3)
                                   : clean(each.kind) + " " + sign + report::mm(each.step_mm.value);
      label({each.at_mm, half + 8.0 / across_, what, on_paper.taper_break, 20.0 + std::min(each.score, 19.0),
             0});
    }
    if (const auto& reversal = canal_.taper.largest_reversal; reversal && certain(reversal->narrowing_mm)) {
      label({(reversal->from_mm + reversal->to_mm) / 2.0, half_width(reversal->from_mm),
             "narrows " + report::mm(reversal->narrowing_mm.value), ink_soft, 10.0, 0});
    }
  }

  void voids() {
    if (!canal_.voids) return;
    const double mm_per_column = result_.scale.mm_per_pixel;
    const double aspect = result_.scale.row_to_column_aspect;
    const CentreLine line_mm(canal_.centre_line, [&](Point p) {
      return Point{p.x * mm_per_column, p.y * mm_per_column * aspect};
    });
    std::size_t number = 0;
    for (const Void& gap : *canal_.voids) {
      const double at = (gap.from_mm + gap.to_mm) / 2.0;
      const Point position{gap.position.x * mm_per_column, gap.position.y * mm_per_column * aspect};
      const double offset = line_mm.empty() ? 0.0 : line_mm.offset_of(at, position);
      add(items_,
          void_sign(ground_, {gap.kind, gap.from_mm, gap.to_mm, gap.width_mm.value, offset, half_width(at)}));
      const bool left = gap.kind == VoidKind::along_wall && offset < 0.0;
      label({at, left ? gap.width_mm.value - half_width(at) : half_width(at),
             (roomy_ ? std::string(kind_words(gap.kind)) + " " + report::mm(gap.length_mm)
                     : report::mm(gap.length_mm.value)) +
                 (may_be_chance(gap) ? ", may be chance" : ""),
             on_paper.gap, 20.0 + std::min(gap.score, 19.0), ++number});
    }
  }

  void label(Label wanted) { labels_.push_back(std::move(wanted)); }

  void labels() {
    const double column = plot_.right() + (roomy_ ? 9.0 : 7.0);
    const auto indent = [](const Label& each) { return each.number > 0 ? 2.0 * ring_radius + 2.5 : 0.0; };
    std::vector<Wish> wishes;
    std::vector<std::vector<std::string>> lines;
    for (const Label& each : labels_) {
      const double room = box_.right() - column - indent(each);
      lines.push_back(wrapped_to(each.text, size_small, room, room));
      const double height = std::max(static_cast<double>(lines.back().size()) * line_height(size_small),
                                     each.number > 0 ? 2.0 * ring_radius : 0.0);
      wishes.push_back({y(each.at_mm), height + 2.0, each.rank});
    }
    const std::vector<Placed> placed = spread(wishes, plot_.top - 4.0, plot_.bottom() + 6.0);
    for (const Placed& at : placed) {
      const Label& each = labels_[at.wish];
      const Point from = place(each.at_mm, each.across_mm);
      line({from, {plot_.right() + 1.0, from.y}, {column - 1.5, at.middle}}, {each.colour, 0.5, Dash::solid});
      if (each.number > 0)
        add(items_, numbered_ring(each.number, {column + ring_radius, at.middle}, on_paper));
      const double height = line_height(size_small);
      double baseline =
          at.middle - (static_cast<double>(lines[at.wish].size()) - 1.0) * height / 2.0 + 0.36 * size_small;
      for (const std::string& words : lines[at.wish]) {
        text({column + indent(each), baseline}, words, size_small, each.colour, Anchor::start);
        baseline += height;
      }
    }
    if (placed.size() < labels_.size()) {
      text({column, plot_.bottom() + 20.0}, "+ " + std::to_string(labels_.size() - placed.size()) + " more",
           size_small, ink, Anchor::start);
    }
  }

  const CanalResult& canal_;
  const Result& result_;
  const UnrolledRange& range_;
  Box box_, plot_;
  double along_ = 1.0, across_ = 1.0;
  bool roomy_ = true;  ///< labels may say all; else what the sign shows is left out
  Ground ground_;
  std::vector<Label> labels_;
  std::vector<Item> items_;
};

}  // namespace

UnrolledRange unrolled_range(const Result& result) {
  UnrolledRange range;
  double widest = 0.0;
  for (const CanalResult& canal : result.canals) {
    const auto reach = [&](double at_mm) {
      if (!std::isfinite(at_mm)) return;
      range.apical_mm = std::min(range.apical_mm, at_mm - 0.6);
      range.coronal_mm = std::max(range.coronal_mm, at_mm + 0.3);
    };
    if (canal.terminus) reach(canal.terminus->to_apex_mm);
    if (canal.coronal_level_mm) reach(canal.coronal_level_mm->value);
    if (!canal.centre_line.empty()) reach(canal.centre_line.back().at_mm);
    for (const MaterialBeyond& piece : canal.material_beyond_apex) reach(piece.from_mm);
    for (const WidthAt& width : canal.width) {
      reach(width.at_mm);
      widest = std::max(widest, width.width_mm + coverage_factor * width.standard_uncertainty_mm);
    }
    for (const auto& each : canal.against_plan.width) widest = std::max(widest, each.planned_mm);
  }
  range.coronal_mm = std::ceil(range.coronal_mm);
  range.half_width_mm = std::max(0.5, std::ceil(widest / 2.0 * 1.15 / 0.25) * 0.25);
  return range;
}

Layer canal_panel(const CanalResult& canal, const Result& result, const UnrolledRange& range, const Box& box,
                  std::size_t index) {
  return {"canal-" + std::to_string(index + 1), std::nullopt, Panel(canal, result, range, box).draw()};
}

}  // namespace canalrule::report
