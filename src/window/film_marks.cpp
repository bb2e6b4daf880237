#include "film_marks.hpp"

#include <QFontMetricsF>

#include "look.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

using desk::CanalDrawn;
using desk::PointPlace;
using desk::ScaleDrawn;

constexpr double point_px = 4.0;   // half the size of a mark's point
constexpr double apex_px = 8.0;    // radius of the apex's ring
constexpr double end_px = 9.0;     // half the bar at the end of a known length
constexpr double label_px = 9.0;   // from a mark to the words beside it
constexpr double halo_px = 10.0;   // ring about the mark that is hovered or held

QPolygonF on_screen(const Polyline& points, const ViewPort& view) {
  QPolygonF polygon;
  for (const Point& point : points) polygon << view.on_screen(point);
  return polygon;
}

/// Words beside a place, on its left or on its right.
void label(QPainter& painter, QPointF at, Qt::Alignment side, const QString& words, const QColor& ink) {
  const QFontMetricsF metrics(painter.font());
  QRectF box = metrics.boundingRect(words).adjusted(-3.0, -1.0, 3.0, 1.0);
  box.moveBottom(at.y());
  if (side == Qt::AlignLeft)
    box.moveRight(at.x() - label_px);
  else
    box.moveLeft(at.x() + label_px);
  painter.setPen(Qt::NoPen);
  painter.setBrush(casing);
  painter.drawRoundedRect(box, 2.0, 2.0);
  painter.setPen(ink);
  painter.drawText(box, Qt::AlignCenter, words);
  painter.setBrush(Qt::NoBrush);
}

enum class Shape { disc, ring, square, diamond };

void draw_shape(QPainter& painter, QPointF at, Shape shape, const QColor& ink) {
  cased(painter, screen_pen(ink, 1.4), [&](QPainter& p) {
    p.setBrush(shape == Shape::disc ? QBrush(ink) : QBrush(Qt::NoBrush));
    switch (shape) {
      case Shape::disc:
        p.drawEllipse(at, point_px - 1.2, point_px - 1.2);
        break;
      case Shape::ring:
        p.drawEllipse(at, point_px, point_px);
        break;
      case Shape::square:
        p.drawRect(QRectF(at.x() - point_px, at.y() - point_px, 2.0 * point_px, 2.0 * point_px));
        break;
      case Shape::diamond: {
        const double d = point_px * 1.5;
        p.drawPolygon(QPolygonF({at + QPointF(0, -d), at + QPointF(d, 0), at + QPointF(0, d), at + QPointF(-d, 0)}));
        break;
      }
    }
    p.setBrush(Qt::NoBrush);
  });
}

class Drawn {
 public:
  Drawn(QPainter& painter, const ViewPort& view, const Bench& bench, const MarkFocus& focus)
      : painter_(painter), view_(view), bench_(bench), focus_(focus) {}

  void this_film() {
    const desk::Drawing& drawing = bench_.drawing();
    for (std::size_t i = 0; i < drawing.scale.size(); ++i) scale(drawing.scale[i], i);
    for (std::size_t i = 0; i < drawing.canals.size(); ++i) canal(drawing.canals[i], i);
  }

  void other_film() {
    const desk::Drawing& drawing = bench_.drawing();
    for (std::size_t i = 0; i < drawing.scale.size(); ++i)
      if (drawing.scale[i].kind == ScaleDrawn::Kind::carried)
        landmarks(drawing.scale[i].from_points, {PointPlace::Of::scale_from, i, 0});
  }

 private:
  QPolygonF smooth_on_screen(const Polyline& points) const {
    const double step_px = piece_px / view_.zoom();
    return on_screen(desk::smooth_line(points, bench_.film().row_to_column_aspect, step_px), view_);
  }

  void points(const Polyline& all, PointPlace place, Shape shape, const QColor& ink) {
    for (const Point& point : all) {
      const QPointF at = view_.on_screen(point);
      halo(at, place);
      draw_shape(painter_, at, shape, ink);
      ++place.index;
    }
  }

  void halo(QPointF at, const PointPlace& place) {
    const bool held = focus_.held == place;
    if (!held && focus_.hovered != place) return;
    painter_.setBrush(Qt::NoBrush);
    painter_.setPen(screen_pen(accent, held ? 2.4 : 1.2));
    painter_.drawEllipse(at, halo_px, halo_px);
  }

  /// The bar across the end of a known length, square to its last piece.
  void end_bar(QPointF end, QPointF before) {
    QLineF along(before, end);
    if (along.length() < 1.0) return;
    const QLineF across = along.normalVector();
    const QPointF half = (across.p2() - across.p1()) / along.length() * end_px;
    cased(painter_, screen_pen(scale_ink, 1.4), [&](QPainter& p) { p.drawLine(end - half, end + half); });
  }

  void landmarks(const Polyline& all, PointPlace place) {
    const QPolygonF screen = on_screen(all, view_);
    if (screen.size() > 1)
      cased(painter_, screen_pen(scale_ink, 1.2, Qt::DashDotDotLine), [&](QPainter& p) { p.drawPolyline(screen); });
    for (qsizetype i = 0; i < screen.size(); ++i)
      label(painter_, screen[i], Qt::AlignRight, QString(QChar(u'A' + static_cast<char16_t>(i))), scale_ink);
    points(all, place, Shape::diamond, scale_ink);
  }

  void scale(const ScaleDrawn& mark, std::size_t index) {
    const PointPlace place{PointPlace::Of::scale, index, 0};
    if (mark.kind == ScaleDrawn::Kind::carried) return landmarks(mark.points, place);
    const QPolygonF line = mark.kind == ScaleDrawn::Kind::known_length
                               ? smooth_on_screen(mark.points)
                               : on_screen(mark.points, view_);
    const Qt::PenStyle style = mark.kind == ScaleDrawn::Kind::known_length ? Qt::SolidLine : Qt::DashDotLine;
    if (line.size() > 1) {
      cased(painter_, screen_pen(scale_ink, 1.2, style), [&](QPainter& p) { p.drawPolyline(line); });
      end_bar(line.front(), line[1]);
      end_bar(line.back(), line[line.size() - 2]);
    }
    points(mark.points, place, Shape::square, scale_ink);
  }

  void canal(const CanalDrawn& marks, std::size_t index) {
    const bool proposed = marks.line == LineSource::proposed;
    const QPolygonF line = smooth_on_screen(marks.path);
    if (line.size() > 1)
      cased(painter_,
            proposed ? screen_pen(proposal_ink, 1.8, Qt::DashLine) : screen_pen(drawn_ink, 1.6, Qt::DotLine),
            [&](QPainter& p) { p.drawPolyline(line); });
    points(marks.path, {PointPlace::Of::canal, index, 0}, proposed ? Shape::ring : Shape::disc,
           proposed ? proposal_ink : drawn_ink);
    if (!marks.path.empty()) {
      const QString name = qstring(marks.name);
      // Neighbours on either side of their lines, so that close orifices keep their names apart.
      label(painter_, view_.on_screen(marks.path.front()), index % 2 == 0 ? Qt::AlignLeft : Qt::AlignRight,
            proposed ? QObject::tr("%1: proposal").arg(name) : name, proposed ? proposal_ink : drawn_ink);
    }
    if (marks.apex) apex(view_.on_screen(*marks.apex), {PointPlace::Of::apex, index, 0});
    if (marks.coronal_reference)
      reference(view_.on_screen(*marks.coronal_reference), {PointPlace::Of::coronal_reference, index, 0});
  }

  void apex(QPointF at, const PointPlace& place) {
    halo(at, place);
    cased(painter_, screen_pen(apex_ink, 1.6), [&](QPainter& p) {
      p.setBrush(Qt::NoBrush);
      p.drawEllipse(at, apex_px, apex_px);
      for (const QPointF& way : {QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)})
        p.drawLine(at + way * (apex_px - 3.0), at + way * (apex_px + 5.0));
    });
  }

  void reference(QPointF at, const PointPlace& place) {
    halo(at, place);
    cased(painter_, screen_pen(reference_ink, 1.6), [&](QPainter& p) {
      p.setBrush(Qt::NoBrush);
      p.drawPolygon(QPolygonF({at, at + QPointF(-7, -12), at + QPointF(7, -12)}));
      p.drawLine(at + QPointF(-12, 0), at + QPointF(12, 0));
    });
  }

  QPainter& painter_;
  const ViewPort& view_;
  const Bench& bench_;
  const MarkFocus& focus_;
};

}  // namespace

void draw_drawn(QPainter& painter, const ViewPort& view, const Bench& bench, desk::WhichFilm which,
                const MarkFocus& focus) {
  Drawn drawn(painter, view, bench, focus);
  if (which == desk::WhichFilm::this_one)
    drawn.this_film();
  else
    drawn.other_film();
}

}  // namespace canalrule::window
