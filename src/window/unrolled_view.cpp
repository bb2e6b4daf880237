#include "unrolled_view.hpp"

#include <algorithm>

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>

#include "look.hpp"

namespace canalrule::window {

namespace {

constexpr double key_mm = 0.1, coarse_key_mm = 1.0;  // along the canal per key; chosen here

}  // namespace

UnrolledView::UnrolledView(Bench& bench, QWidget* parent) : QWidget(parent), bench_(bench) {
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
  setAccessibleName(tr("Canal unrolled straight"));
  connect(&bench, &Bench::answer_changed, this, &UnrolledView::renew);
  connect(&bench, &Bench::canal_chosen, this, &UnrolledView::renew);
  connect(&bench, &Bench::pointed_changed, this, [this] {
    describe();
    update();
  });
}

std::optional<UnrolledPlot> UnrolledView::plot() const {
  const std::size_t canal = bench_.current_canal();
  if (bench_.result_of(canal) == nullptr || bench_.unrolled(canal) == nullptr) return std::nullopt;
  return lay_out(*bench_.result_of(canal), *bench_.unrolled(canal), size(), fontMetrics().height());
}

void UnrolledView::set_tone(const desk::Tone& tone) {
  tone_ = tone;
  renew();
}

void UnrolledView::renew() {
  rendered_ = {};
  describe();
  update();
}

void UnrolledView::describe() {
  const std::size_t canal = bench_.current_canal();
  const CanalResult* result = bench_.result_of(canal);
  const bool here = bench_.pointed() && bench_.pointed()->canal == canal && result != nullptr;
  setAccessibleDescription(here ? measured_at(*result, bench_.pointed()->at_mm)
                                : tr("Up and down arrow keys go along the canal"));
}

void UnrolledView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  const std::optional<UnrolledPlot> here = plot();
  if (!here) {
    painter.setPen(soft_ink);
    painter.drawText(rect().adjusted(12, 12, -12, -12), Qt::AlignCenter | Qt::TextWordWrap,
                     tr("The canal appears here, unrolled straight, as soon as scale, line and apex are marked."));
    return;
  }
  if (rendered_.size() != size() * devicePixelRatioF()) render(*here);
  painter.drawPixmap(0, 0, rendered_);
  const std::size_t index = bench_.current_canal();
  if (bench_.pointed() && bench_.pointed()->canal == index)
    draw_reading_line(painter, *here, *bench_.result_of(index), bench_.pointed()->at_mm);
  if (hasFocus()) {
    painter.setPen(QPen(accent, 1.0));
    painter.drawRect(rect().adjusted(0, 0, -1, -1));
  }
}

void UnrolledView::render(const UnrolledPlot& here) {
  const CanalResult& canal = *bench_.result_of(bench_.current_canal());
  const desk::UnrolledCanal& unrolled = *bench_.unrolled(bench_.current_canal());
  const double ratio = devicePixelRatioF();
  rendered_ = QPixmap(size() * ratio);
  rendered_.setDevicePixelRatio(ratio);
  rendered_.fill(Qt::transparent);
  QPainter painter(&rendered_);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setFont(font());
  const cv::Mat shown = unrolled.picture(bench_.film(), tone_, here.px_per_mm() * ratio);
  if (!shown.empty()) {
    const QImage strip(shown.data, shown.cols, shown.rows, static_cast<qsizetype>(shown.step[0]),
                       QImage::Format_Grayscale8);
    painter.save();
    painter.setClipRect(here.strip);
    painter.setRenderHint(QPainter::SmoothPixmapTransform);
    const double half_px = unrolled.half_width_mm() * here.px_per_mm();
    const double middle = here.strip.center().x();
    painter.drawImage(QRectF(QPointF(middle - half_px, here.y(unrolled.last_mm())),
                             QPointF(middle + half_px, here.y(unrolled.first_mm()))),
                      strip, QRectF(strip.rect()));
    painter.restore();
  }
  draw_unrolled(painter, here, canal, unrolled);
}

void UnrolledView::point_at(double at_mm) {
  const std::optional<UnrolledPlot> here = plot();
  if (here) bench_.point_at(PointedAt{bench_.current_canal(), std::clamp(at_mm, here->first_mm, here->last_mm)});
}

void UnrolledView::mouseMoveEvent(QMouseEvent* event) {
  if (const std::optional<UnrolledPlot> here = plot()) point_at(here->at_mm(event->position().y()));
}

void UnrolledView::leaveEvent(QEvent*) { bench_.point_at(std::nullopt); }

void UnrolledView::keyPressEvent(QKeyEvent* event) {
  const double way = event->key() == Qt::Key_Up ? 1.0 : event->key() == Qt::Key_Down ? -1.0 : 0.0;
  if (way == 0.0) return QWidget::keyPressEvent(event);
  const double step = event->modifiers() & Qt::ShiftModifier ? coarse_key_mm : key_mm;
  const bool here = bench_.pointed() && bench_.pointed()->canal == bench_.current_canal();
  point_at(here ? bench_.pointed()->at_mm + way * step : 0.0);
}

void UnrolledView::resizeEvent(QResizeEvent*) { renew(); }

void UnrolledView::changeEvent(QEvent* event) {
  if (event->type() == QEvent::FontChange || event->type() == QEvent::StyleChange) renew();
  QWidget::changeEvent(event);
}

}  // namespace canalrule::window
