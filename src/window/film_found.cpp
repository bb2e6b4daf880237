#include "film_marks.hpp"

#include <canalrule/report/figures.hpp>

#include <QPainterPath>

#include "look.hpp"
#include "runs.hpp"

namespace canalrule::window {

namespace {

using desk::UnrolledCanal;

constexpr double hatch_px = 7.0;     // between the strokes over a stretch that can't be assessed
constexpr double least_half_mm = 0.25;  // half the length of a bar across, where no width is known

/// One measured canal, drawn in its own coordinates: mm along and across, placed on the screen.
class Found {
 public:
  Found(QPainter& painter, const ViewPort& view, const CanalResult& canal, const UnrolledCanal& unrolled)
      : painter_(painter), view_(view), canal_(canal), unrolled_(unrolled) {}

  void draw() {
    centre_line();
    outline();
    for (const NotAssessable& stretch : report::stretches_not_assessable(canal_))
      hatched(*stretch.from_mm, *stretch.to_mm);
    if (canal_.empty_canal && canal_.empty_canal->visible)
      walls(canal_.empty_canal->from_mm, canal_.empty_canal->to_mm, Qt::DashDotLine);
    for (const MaterialBeyond& piece : canal_.material_beyond_apex) bracket(piece);
    if (canal_.voids)
      for (std::size_t i = 0; i < canal_.voids->size(); ++i) void_sign((*canal_.voids)[i], i + 1);
    for (const TaperBreak& each : canal_.taper.breaks) break_sign(each);
    if (canal_.terminus) terminus(*canal_.terminus);
  }

  void across(double at_mm, double half_px, const QPen& pen) {
    const auto [middle, side] = cross(at_mm);
    cased(painter_, pen, [&, m = middle, s = side](QPainter& p) { p.drawLine(m - s * half_px, m + s * half_px); });
  }

 private:
  QPointF place(double at_mm, double across_mm) const {
    return view_.on_screen(unrolled_.on_film({at_mm, across_mm}));
  }

  /// A place on the line and the unit vector across it, on the screen.
  std::pair<QPointF, QPointF> cross(double at_mm) const {
    const QLineF line(place(at_mm, 0.0), place(at_mm, 0.1));
    return {line.p1(), line.length() > 0.0 ? (line.p2() - line.p1()) / line.length() : QPointF(1.0, 0.0)};
  }

  double half_width_px(double at_mm) const {
    const double width = report::width_near(canal_, at_mm).value_or(2.0 * least_half_mm);
    return QLineF(place(at_mm, 0.0), place(at_mm, width / 2.0))
        .length();
  }

  /// Places on the screen, one every `piece_px` or so and the last.
  static QPolygonF thinned(const QPolygonF& points) {
    QPolygonF kept;
    for (const QPointF& point : points)
      if (kept.isEmpty() || QLineF(kept.back(), point).length() >= piece_px) kept << point;
    if (!points.isEmpty() && kept.back() != points.back()) kept << points.back();
    return kept;
  }

  void polyline(const QPolygonF& points, const QPen& pen) {
    if (points.size() > 1) cased(painter_, pen, [&](QPainter& p) { p.drawPolyline(points); });
  }

  void centre_line() {
    QPolygonF points;
    for (const CentreAt& each : canal_.centre_line) points << view_.on_screen(each.position);
    polyline(thinned(points), screen_pen(centre_ink, 1.2));
  }

  void outline() {
    for (const auto& run : runs_of(canal_.width))
      for (const double side : {-0.5, 0.5}) {
        QPolygonF points;
        for (const WidthAt& width : run) points << place(width.at_mm, side * width.width_mm);
        polyline(thinned(points), screen_pen(outline_ink, 1.2));
      }
  }

  void walls(double from_mm, double to_mm, Qt::PenStyle style) {
    const double half = report::width_near(canal_, to_mm).value_or(2.0 * least_half_mm) / 2.0;
    for (const double side : {-half, half})
      polyline({place(from_mm, side), place(to_mm, side)}, screen_pen(hatch_ink, 1.2, style));
  }

  void hatched(double from_mm, double to_mm) {
    const QLineF line(place(from_mm, 0.0), place(to_mm, 0.0));
    const int strokes = qBound(1, static_cast<int>(line.length() / hatch_px), 200);
    for (int i = 0; i <= strokes; ++i) {
      const double at = from_mm + (to_mm - from_mm) * i / strokes;
      const auto [middle, side] = cross(at);
      const QPointF along = line.length() > 0.0 ? (line.p2() - line.p1()) / line.length() : QPointF();
      const double half = half_width_px(at) + 4.0;
      painter_.setPen(screen_pen(hatch_ink, 0.9));
      painter_.drawLine(middle - side * half - along * 3.0, middle + side * half + along * 3.0);
    }
  }

  void bracket(const MaterialBeyond& piece) {
    const double off = report::width_near(canal_, piece.to_mm).value_or(2.0 * least_half_mm);
    const QPointF top = place(piece.to_mm, off), bottom = place(piece.from_mm, off);
    const QPointF lip = cross(piece.to_mm).second * 5.0;
    polyline({top - lip, top, bottom, bottom - lip}, screen_pen(terminus_ink, 1.6));
    if (piece.kind != "fill")
      cased(painter_, screen_pen(terminus_ink, 1.4), [&](QPainter& p) {
        p.setBrush(Qt::NoBrush);
        p.drawEllipse(view_.on_screen(piece.position), 5.0, 5.0);
      });
  }

  void void_sign(const Void& found, std::size_t number) {
    const double off = unrolled_.of_film(found.position).across_mm;
    const double half = found.width_mm.value / 2.0;
    QPainterPath path;
    if (found.kind == VoidKind::across) {
      path.addPolygon(QPolygonF({place(found.from_mm, off - half), place(found.to_mm, off - half),
                                 place(found.to_mm, off + half), place(found.from_mm, off + half)}));
      path.closeSubpath();
    } else {
      const QPointF along = (place(found.to_mm, off) - place(found.from_mm, off)) / 2.0;
      const QPointF side = (place(found.from_mm, off + half) - place(found.from_mm, off - half)) / 2.0;
      const QPointF middle = view_.on_screen(found.position);
      QPainterPath round;
      round.addEllipse(QPointF(0.0, 0.0), 1.0, 1.0);
      path = QTransform(along.x(), along.y(), side.x(), side.y(), middle.x(), middle.y()).map(round);
    }
    const Qt::PenStyle style = found.kind == VoidKind::along_wall ? Qt::DashLine : Qt::SolidLine;
    cased(painter_, screen_pen(void_ink, 1.6, style), [&](QPainter& p) {
      p.setBrush(Qt::NoBrush);
      p.drawPath(path);
    });
    const double middle_mm = (found.from_mm + found.to_mm) / 2.0;
    const auto [at, side] = cross(middle_mm);
    const QPointF ring = at - side * (half_width_px(middle_mm) + 16.0);
    painter_.setPen(screen_pen(void_ink, 1.2));
    painter_.setBrush(casing);
    painter_.drawEllipse(ring, 8.0, 8.0);
    painter_.drawText(QRectF(ring.x() - 8.0, ring.y() - 8.0, 16.0, 16.0), Qt::AlignCenter, QString::number(number));
    painter_.setBrush(Qt::NoBrush);
  }

  void break_sign(const TaperBreak& each) {
    const auto [at, side] = cross(each.at_mm);
    const QPointF along(-side.y(), side.x());
    const double half = half_width_px(each.at_mm) + 3.0;
    for (const double way : {-1.0, 1.0}) {
      const QPointF tip = at + side * (way * half);
      const QPointF back = side * (way * 9.0);
      polyline({tip + back + along * 5.0, tip, tip + back - along * 5.0}, screen_pen(break_ink, 1.6));
    }
  }

  void terminus(const Terminus& end) {
    const auto [at, side] = cross(end.to_apex_mm);
    const QPointF apical = -(place(end.to_apex_mm + 0.1, 0.0) - at);
    const double length = QLineF(QPointF(), apical).length();
    const QPointF down = length > 0.0 ? apical / length : QPointF(0.0, 1.0);
    const double half = half_width_px(end.to_apex_mm) + 9.0;
    cased(painter_, screen_pen(terminus_ink, 2.0), [&, m = at, s = side](QPainter& p) {
      p.drawLine(m - s * half, m + s * half);
      p.setBrush(terminus_ink);
      for (const double way : {-1.0, 1.0}) {
        const QPointF base = m + s * (way * half);
        p.drawPolygon(QPolygonF({base - s * 4.0, base + s * 4.0, base + down * 7.0}));
      }
      p.setBrush(Qt::NoBrush);
    });
  }

  QPainter& painter_;
  const ViewPort& view_;
  const CanalResult& canal_;
  const UnrolledCanal& unrolled_;
};

}  // namespace

void draw_found(QPainter& painter, const ViewPort& view, const Bench& bench) {
  for (std::size_t i = 0; i < bench.drawing().canals.size(); ++i) {
    const CanalResult* canal = bench.result_of(i);
    const UnrolledCanal* unrolled = bench.unrolled(i);
    if (canal != nullptr && unrolled != nullptr) Found(painter, view, *canal, *unrolled).draw();
  }
}

void draw_pointed(QPainter& painter, const ViewPort& view, const Bench& bench) {
  const std::optional<PointedAt>& pointed = bench.pointed();
  if (!pointed) return;
  const CanalResult* canal = bench.result_of(pointed->canal);
  const UnrolledCanal* unrolled = bench.unrolled(pointed->canal);
  if (canal != nullptr && unrolled != nullptr)
    Found(painter, view, *canal, *unrolled).across(pointed->at_mm, 26.0, screen_pen(accent, 1.6, Qt::DashLine));
}

}  // namespace canalrule::window
