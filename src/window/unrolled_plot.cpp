#include "unrolled_plot.hpp"

#include <algorithm>
#include <cmath>

#include <QCoreApplication>
#include <QFontMetricsF>

#include <canalrule/report/figures.hpp>

#include "look.hpp"
#include "runs.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

constexpr double coverage = 2.0;          // k of what is shown, as in the reports (JCGM 100:2008, G.6.6)
constexpr double strip_half_mm = 1.1;     // of the film along the canal, chosen here: a fill and its dentine
constexpr double mark_px = 6.0;

QString tr(const char* words) { return QCoreApplication::translate("UnrolledPlot", words); }

class Plotter {
 public:
  Plotter(QPainter& painter, const UnrolledPlot& plot, const CanalResult& canal,
          const desk::UnrolledCanal& unrolled)
      : painter_(painter), plot_(plot), canal_(canal), unrolled_(unrolled) {}

  void draw() {
    frame();
    thirds();
    painter_.save();
    painter_.setClipRect(plot_.plot.adjusted(-mark_px, -1, mark_px, 1));
    fill();
    plan();
    for (const NotAssessable& stretch : report::stretches_not_assessable(canal_))
      hatched(*stretch.from_mm, *stretch.to_mm);
    if (canal_.empty_canal && canal_.empty_canal->visible) empty(*canal_.empty_canal);
    for (const MaterialBeyond& piece : canal_.material_beyond_apex) beyond(piece);
    for (const TaperBreak& each : canal_.taper.breaks) break_sign(each);
    painter_.restore();
    levels();
    if (canal_.voids)
      for (std::size_t i = 0; i < canal_.voids->size(); ++i) void_sign((*canal_.voids)[i], i + 1);
  }

 private:
  double edge_mm() const { return plot_.half_width_mm; }

  void across(double at_mm, const QPen& pen) {
    painter_.setPen(pen);
    painter_.drawLine(plot_.place(at_mm, -edge_mm()), plot_.place(at_mm, edge_mm()));
    painter_.drawLine(QPointF(plot_.strip.left(), plot_.y(at_mm)), QPointF(plot_.strip.right(), plot_.y(at_mm)));
  }

  void frame() {
    painter_.fillRect(plot_.plot, QColor(0x1d, 0x1f, 0x21));
    painter_.setPen(screen_pen(edge, 1.0));
    painter_.setBrush(Qt::NoBrush);
    painter_.drawRect(plot_.plot);
    painter_.drawRect(plot_.strip);
    painter_.setPen(screen_pen(edge, 1.0, Qt::DashDotLine));
    painter_.drawLine(plot_.place(plot_.first_mm, 0.0), plot_.place(plot_.last_mm, 0.0));
    const QFontMetricsF metrics(painter_.font());
    const double per_mm = plot_.px_per_mm();
    const int numbered_every = per_mm > metrics.height() ? 1 : per_mm * 2.0 > metrics.height() ? 2 : 5;
    painter_.setPen(soft_ink);
    for (int at = static_cast<int>(std::ceil(plot_.first_mm)); at <= plot_.last_mm; ++at) {
      const double y = plot_.y(at);
      const bool numbered = at % numbered_every == 0;
      painter_.drawLine(QPointF(plot_.plot.left() - (numbered ? 6.0 : 3.0), y), QPointF(plot_.plot.left(), y));
      if (numbered)
        painter_.drawText(QRectF(plot_.strip.right(), y - metrics.height() / 2.0,
                                 plot_.plot.left() - 8.0 - plot_.strip.right(), metrics.height()),
                          Qt::AlignRight | Qt::AlignVCenter, QString::number(at));
    }
    foot(metrics);
  }

  /// The scale of widths below, and what the two columns are.
  void foot(const QFontMetricsF& metrics) {
    const double top = plot_.plot.bottom() + 4.0;
    for (const double across_mm : {-0.5, 0.0, 0.5}) {
      const QPointF at = plot_.place(plot_.first_mm, across_mm);
      painter_.drawLine(at, at + QPointF(0.0, 4.0));
      painter_.drawText(QRectF(at.x() - 20.0, top + 2.0, 40.0, metrics.height()), Qt::AlignCenter,
                        QString::number(std::abs(across_mm)));
    }
    painter_.drawText(QRectF(plot_.plot.left(), top + metrics.height() + 1.0, plot_.plot.width(), metrics.height()),
                      Qt::AlignCenter, tr("width, mm"));
    painter_.drawText(QRectF(0.0, plot_.plot.top() - metrics.height() - 3.0, plot_.plot.left() - 4.0, metrics.height()),
                      Qt::AlignRight, tr("mm from apex"));
    painter_.drawText(QRectF(plot_.strip.left() - 20.0, top + metrics.height() + 1.0, plot_.strip.width() + 40.0,
                             metrics.height()), Qt::AlignCenter, tr("film"));
  }

  void thirds() {
    if (!canal_.terminus || !canal_.coronal_level_mm) return;
    const double low = canal_.terminus->to_apex_mm, high = canal_.coronal_level_mm->value;
    for (const double share : {1.0 / 3.0, 2.0 / 3.0}) {
      painter_.setPen(screen_pen(edge, 1.0, Qt::DashLine));
      const double at = low + (high - low) * share;
      painter_.drawLine(plot_.place(at, -edge_mm()), plot_.place(at, edge_mm()));
    }
  }

  QPolygonF side(const std::vector<WidthAt>& run, double sign, double k) const {
    QPolygonF points;
    for (const WidthAt& each : run)
      points << plot_.place(each.at_mm, sign * (each.width_mm + k * each.standard_uncertainty_mm) / 2.0);
    return points;
  }

  void area(QPolygonF one, const QPolygonF& other, const QColor& ink) {
    for (auto point = other.crbegin(); point != other.crend(); ++point) one << *point;
    painter_.setPen(Qt::NoPen);
    painter_.setBrush(ink);
    painter_.drawPolygon(one);
    painter_.setBrush(Qt::NoBrush);
  }

  void fill() {
    for (const auto& run : runs_of(canal_.width)) {
      area(side(run, -1.0, 0.0), side(run, 1.0, 0.0), QColor(0x5c, 0x62, 0x69));
      for (const double sign : {-1.0, 1.0}) {
        area(side(run, sign, -coverage), side(run, sign, coverage), QColor(250, 228, 120, 90));
        painter_.setPen(screen_pen(outline_ink, 1.2));
        painter_.drawPolyline(side(run, sign, 0.0));
      }
    }
  }

  void plan() {
    for (const double sign : {-0.5, 0.5}) {
      QPolygonF points;
      for (const auto& each : canal_.against_plan.width) points << plot_.place(each.at_mm, sign * each.planned_mm);
      painter_.setPen(screen_pen(centre_ink, 1.4, Qt::DashLine));
      painter_.drawPolyline(points);
    }
  }

  void hatched(double from_mm, double to_mm) {
    const double top = plot_.y(std::min(to_mm, plot_.last_mm)), bottom = plot_.y(std::max(from_mm, plot_.first_mm));
    const QRectF box(plot_.plot.left(), top, plot_.plot.width(), std::max(2.0, bottom - top));
    painter_.setPen(screen_pen(hatch_ink, 1.0, Qt::DotLine));
    painter_.setBrush(QBrush(QColor(200, 200, 200, 120), Qt::BDiagPattern));
    painter_.drawRect(box);
    painter_.setBrush(Qt::NoBrush);
  }

  void empty(const EmptyCanal& stretch) {
    const double half = report::width_near(canal_, stretch.to_mm).value_or(edge_mm()) / 2.0;
    painter_.setPen(screen_pen(hatch_ink, 1.2, Qt::DashDotLine));
    for (const double sign : {-half, half})
      painter_.drawLine(plot_.place(stretch.from_mm, sign), plot_.place(stretch.to_mm, sign));
  }

  void beyond(const MaterialBeyond& piece) {
    const double x = plot_.place(0.0, edge_mm() * 0.72).x();
    const double top = plot_.y(piece.to_mm), bottom = plot_.y(piece.from_mm);
    painter_.setPen(screen_pen(terminus_ink, 1.6));
    painter_.drawPolyline(QPolygonF({{x - mark_px, top}, {x, top}, {x, bottom}, {x - mark_px, bottom}}));
    if (piece.kind != "fill") painter_.drawEllipse(QPointF(x - mark_px, (top + bottom) / 2.0), 2.5, 2.5);
  }

  void break_sign(const TaperBreak& each) {
    const double half = report::width_near(canal_, each.at_mm).value_or(edge_mm()) / 2.0;
    painter_.setPen(screen_pen(break_ink, 1.8));
    for (const double sign : {-1.0, 1.0}) {
      const QPointF tip = plot_.place(each.at_mm, sign * half) + QPointF(sign * 3.0, 0.0);
      painter_.drawPolyline(QPolygonF({tip + QPointF(sign * 9.0, -5.0), tip, tip + QPointF(sign * 9.0, 5.0)}));
    }
  }

  void levels() {
    across(0.0, screen_pen(apex_ink, 1.2));
    painter_.setBrush(plot_.plot.isValid() ? QColor(0x1d, 0x1f, 0x21) : QColor());
    painter_.drawEllipse(plot_.place(0.0, 0.0), 5.0, 5.0);
    painter_.setBrush(Qt::NoBrush);
    if (canal_.coronal_level_mm) across(canal_.coronal_level_mm->value, screen_pen(soft_ink, 1.2, Qt::DotLine));
    if (!canal_.terminus) return;
    const double at = canal_.terminus->to_apex_mm;
    const double u = coverage * canal_.terminus->standard_uncertainty_mm;
    painter_.setPen(Qt::NoPen);
    painter_.setBrush(QColor(255, 158, 84, 70));
    painter_.drawRect(QRectF(plot_.place(at + u, -edge_mm()), plot_.place(at - u, edge_mm())));
    across(at, screen_pen(terminus_ink, 2.0));
    painter_.setBrush(terminus_ink);
    for (const double sign : {-1.0, 1.0}) {
      const QPointF base = plot_.place(at, sign * edge_mm() * 0.85);
      painter_.drawPolygon(QPolygonF({base + QPointF(-4.0, 0.0), base + QPointF(4.0, 0.0), base + QPointF(0.0, 7.0)}));
    }
    painter_.setBrush(Qt::NoBrush);
  }

  void void_sign(const Void& found, std::size_t number) {
    const double off = unrolled_.of_film(found.position).across_mm;
    const double half = found.width_mm.value / 2.0;
    const QRectF box(plot_.place(found.to_mm, off - half), plot_.place(found.from_mm, off + half));
    const QRectF seen = box.adjusted(-1.0, -1.0, 1.0, 1.0);
    painter_.setPen(screen_pen(void_ink, 1.8, found.kind == VoidKind::along_wall ? Qt::DashLine : Qt::SolidLine));
    painter_.setBrush(QColor(0x1d, 0x1f, 0x21));
    if (found.kind == VoidKind::across)
      painter_.drawRect(seen);
    else
      painter_.drawEllipse(seen);
    const QPointF ring(plot_.plot.right() + 12.0, seen.center().y());
    painter_.setPen(screen_pen(void_ink, 1.2));
    painter_.drawLine(QPointF(seen.right(), ring.y()), ring - QPointF(8.0, 0.0));
    painter_.drawEllipse(ring, 8.0, 8.0);
    painter_.drawText(QRectF(ring.x() - 8.0, ring.y() - 8.0, 16.0, 16.0), Qt::AlignCenter, QString::number(number));
    painter_.setBrush(Qt::NoBrush);
  }

  QPainter& painter_;
  const UnrolledPlot& plot_;
  const CanalResult& canal_;
  const desk::UnrolledCanal& unrolled_;
};

}  // namespace

UnrolledPlot lay_out(const CanalResult& canal, const desk::UnrolledCanal& unrolled, QSize size, double line_px) {
  UnrolledPlot plot;
  plot.first_mm = unrolled.first_mm();
  plot.last_mm = unrolled.last_mm();
  double widest = 1.0;
  for (const WidthAt& each : canal.width) widest = std::max(widest, each.width_mm);
  for (const auto& each : canal.against_plan.width) widest = std::max(widest, each.planned_mm);
  plot.half_width_mm = widest * 0.62;
  plot.strip_half_mm = std::min(strip_half_mm, unrolled.half_width_mm());
  const double top = line_px + 6.0, bottom = size.height() - 2.0 * line_px - 10.0;
  const double tall = std::max(40.0, bottom - top);
  const double strip_wide = tall / (plot.last_mm - plot.first_mm) * 2.0 * plot.strip_half_mm;
  const double left = 6.0 + line_px * 0.5;
  plot.strip = QRectF(left, top, strip_wide, tall);
  const double axis = plot.strip.right() + 2.6 * line_px;
  plot.plot = QRectF(axis, top, std::max(60.0, std::min(size.width() - axis - 26.0, 2.2 * tall / 4.0)), tall);
  return plot;
}

void draw_unrolled(QPainter& painter, const UnrolledPlot& plot, const CanalResult& canal,
                   const desk::UnrolledCanal& unrolled) {
  Plotter(painter, plot, canal, unrolled).draw();
}

void draw_reading_line(QPainter& painter, const UnrolledPlot& plot, const CanalResult& canal, double at_mm) {
  const double y = plot.y(at_mm);
  painter.setPen(screen_pen(accent, 1.4, Qt::DashLine));
  painter.drawLine(QPointF(plot.strip.left(), y), QPointF(plot.plot.right(), y));
  const QString words = measured_at(canal, at_mm);
  const QFontMetricsF metrics(painter.font());
  QRectF box = metrics.boundingRect(words).adjusted(-4.0, -2.0, 4.0, 2.0);
  box.moveBottomRight({plot.plot.right(), y - 4.0});
  if (box.top() < plot.plot.top()) box.moveTop(y + 4.0);
  if (box.left() < 2.0) box.moveLeft(2.0);
  painter.setPen(Qt::NoPen);
  painter.setBrush(QColor(10, 11, 12, 225));
  painter.drawRoundedRect(box, 2.0, 2.0);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(accent);
  painter.drawText(box, Qt::AlignCenter, words);
}

QString measured_at(const CanalResult& canal, double at_mm) {
  QString words = tr("%1 mm").arg(at_mm, 0, 'f', 2);
  const auto near = [at_mm](const auto& each) { return std::abs(each.at_mm - at_mm); };
  const auto least = [&](const auto& a, const auto& b) { return near(a) < near(b); };
  constexpr double near_mm = 0.3;  // chosen here: a station's own width or its neighbour's
  const auto width = std::min_element(canal.width.begin(), canal.width.end(), least);
  if (width != canal.width.end() && near(*width) < near_mm)
    words += tr(", width %1").arg(qstring(report::length_words({width->width_mm, width->standard_uncertainty_mm})));
  const auto& planned = canal.against_plan.width;
  const auto plan = std::min_element(planned.begin(), planned.end(), least);
  if (plan != planned.end() && near(*plan) < near_mm) words += tr(", planned %1 mm").arg(plan->planned_mm, 0, 'f', 2);
  return words;
}

}  // namespace canalrule::window
