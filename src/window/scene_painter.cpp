#include "scene_painter.hpp"

#include <algorithm>

#include <QBuffer>
#include <QFontMetricsF>
#include <QPageLayout>
#include <QPainter>
#include <QPainterPath>
#include <QPdfWriter>

namespace canalrule::window {

namespace {

using namespace report;

constexpr int pdf_dots_per_inch = 1200;  // the unit of coordinates only; lines and letters have no dots
constexpr double points_per_inch = 72.0;

QColor colour_of(const Colour& colour) {
  QColor out(colour.red, colour.green, colour.blue);
  out.setAlphaF(static_cast<float>(colour.opacity));
  return out;
}

/// Draws items of a scene; `unit` is a point of the page in the device's dots.
class ScenePainter {
 public:
  ScenePainter(QPainter& painter, double unit) : painter_(painter), unit_(unit) {}

  void operator()(const Raster& raster) const {
    const GreyImage& image = raster.image;
    const QImage grey(image.grey.data(), image.columns, image.rows, image.columns, QImage::Format_Grayscale8);
    painter_.drawImage(box(raster.box), grey);
  }

  void operator()(const Polygon& polygon) const {
    painter_.setPen(polygon.stroke ? pen(*polygon.stroke) : QPen(Qt::NoPen));
    painter_.setBrush(polygon.fill ? QBrush(colour_of(*polygon.fill)) : QBrush(Qt::NoBrush));
    painter_.drawPolygon(points(polygon.points));
  }

  void operator()(const Line& line) const {
    painter_.setBrush(Qt::NoBrush);
    if (line.casing) stroke(line.points, *line.casing);
    stroke(line.points, line.stroke);
  }

  void operator()(const Text& words) const {
    QFont font{QString::fromLatin1(font_family)};
    font.setPointSizeF(words.size * unit_ * points_per_inch / painter_.device()->logicalDpiY());
    font.setBold(words.weight == Weight::bold);
    const QString text = QString::fromStdString(words.text);
    const double wide = QFontMetricsF(font, painter_.device()).horizontalAdvance(text);
    const double share = words.anchor == Anchor::start ? 0.0 : words.anchor == Anchor::middle ? 0.5 : 1.0;
    painter_.save();
    painter_.translate(words.at.x * unit_, words.at.y * unit_);
    painter_.rotate(words.turned_deg);
    painter_.setFont(font);
    if (words.halo) {
      QFont outline = font;  // a path's letters are in the device's dots
      outline.setPixelSize(std::max(1, qRound(words.size * unit_)));
      QPainterPath letters;
      letters.addText(QPointF(-share * wide, 0.0), outline, text);
      painter_.strokePath(letters, pen({*words.halo, halo_width, Dash::solid}));
    }
    painter_.setPen(colour_of(words.colour));
    painter_.drawText(QPointF(-share * wide, 0.0), text);
    painter_.restore();
  }

  QRectF box(const Box& of) const { return {of.left * unit_, of.top * unit_, of.width * unit_, of.height * unit_}; }

 private:
  QPolygonF points(const Polyline& line) const {
    QPolygonF out;
    for (const Point& point : line) out << QPointF(point.x * unit_, point.y * unit_);
    return out;
  }

  QPen pen(const Stroke& stroke) const {
    const Qt::PenCapStyle cap = stroke.dash == Dash::dotted ? Qt::RoundCap : Qt::FlatCap;
    QPen pen(colour_of(stroke.colour), stroke.width * unit_, Qt::SolidLine, cap, Qt::RoundJoin);
    QList<qreal> pattern;  // in widths of the pen
    for (const double length : dash_lengths(stroke)) pattern << length / stroke.width;
    if (!pattern.isEmpty()) pen.setDashPattern(pattern);
    return pen;
  }

  void stroke(const Polyline& line, const Stroke& style) const {
    painter_.setPen(pen(style));
    painter_.drawPolyline(points(line));
  }

  QPainter& painter_;
  double unit_;
};

void draw_scene(QPainter& painter, const Scene& scene, double unit) {
  const ScenePainter draw(painter, unit);
  for (const Layer& layer : scene.layers) {
    painter.save();
    if (layer.clip) painter.setClipRect(draw.box(*layer.clip));
    for (const Item& item : layer.items) std::visit(draw, item);
    painter.restore();
  }
}

}  // namespace

Result without_identity(Result result) {
  result.provenance.image_file.clear();
  result.provenance.image_sha256.clear();
  result.provenance.reading_file.clear();
  result.provenance.reading_sha256.clear();
  result.provenance.reader.clear();
  return result;
}

QByteArray pdf_of(const std::function<std::optional<MeasuredFilm>()>& next, Identity identity) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter writer(&buffer);
  writer.setPageLayout({QPageSize(QPageSize::A4), QPageLayout::Landscape, QMarginsF()});
  writer.setResolution(pdf_dots_per_inch);
  writer.setCreator(QStringLiteral("canalrule"));
  writer.setTitle(QStringLiteral("Root canal fillings"));
  QPainter painter;
  while (std::optional<MeasuredFilm> page = next()) {
    if (painter.isActive())
      writer.newPage();
    else
      painter.begin(&writer);
    painter.setRenderHint(QPainter::LosslessImageRendering);
    const Result result = identity == Identity::shown ? page->result : without_identity(page->result);
    const Scene scene = page_scene(page->film, result);
    const double unit = std::min(writer.width() / scene.width, writer.height() / scene.height);
    draw_scene(painter, scene, unit);
  }
  if (!painter.isActive()) return {};
  painter.end();
  return bytes;
}

}  // namespace canalrule::window
