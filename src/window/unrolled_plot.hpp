#pragma once

#include <QPainter>
#include <QRectF>

#include <canalrule/desk/unrolled.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule::window {

/// Where things of an unrolled canal lie in its widget.
struct UnrolledPlot {
  QRectF strip;                ///< the film along the canal
  QRectF plot;                 ///< the width about the axis; as high as the strip
  double first_mm = -1.0, last_mm = 1.0;  ///< at the bottom and at the top
  double half_width_mm = 0.5;  ///< from the plot's axis to its edge
  double strip_half_mm = 0.5;

  double px_per_mm() const { return plot.height() / (last_mm - first_mm); }
  double y(double at_mm) const { return plot.bottom() - (at_mm - first_mm) * px_per_mm(); }
  double at_mm(double y) const { return first_mm + (plot.bottom() - y) / px_per_mm(); }
  QPointF place(double at_mm, double across_mm) const {
    return {plot.center().x() + across_mm * plot.width() / (2.0 * half_width_mm), y(at_mm)};
  }
};

/// How an unrolled canal is laid out in a widget of that size.
UnrolledPlot lay_out(const CanalResult& canal, const desk::UnrolledCanal& unrolled, QSize size, double line_px);

/// Axes, fill, plan, voids, breaks, levels; not the film along it.
void draw_unrolled(QPainter& painter, const UnrolledPlot& plot, const CanalResult& canal,
                   const desk::UnrolledCanal& unrolled);

/// The place that is pointed at, and what was measured there.
void draw_reading_line(QPainter& painter, const UnrolledPlot& plot, const CanalResult& canal, double at_mm);

/// "5.20 mm: width 0.69 ± 0.02, planned 0.71", what is known of it.
QString measured_at(const CanalResult& canal, double at_mm);

}  // namespace canalrule::window
