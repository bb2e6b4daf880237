#pragma once

#include <QColor>
#include <QPalette>
#include <QPen>
#include <QString>

QT_BEGIN_NAMESPACE
class QApplication;
class QPainter;
QT_END_NAMESPACE

/// How everything in the window looks. Neutral and dim, since films are read in subdued light (common
/// practice, no source). Every kind of mark has a shape or a line style of its own; the inks only help, and
/// are hues that stay apart for people with any common colour blindness (after Wong, Nature Methods
/// 2011;8:441, from memory).
namespace canalrule::window {

inline const QColor ground(0x17, 0x18, 0x1a);   ///< about the film
inline const QColor panel(0x27, 0x29, 0x2c);
inline const QColor raised(0x33, 0x36, 0x3a);
inline const QColor edge(0x51, 0x56, 0x5c);
inline const QColor text_ink(0xdf, 0xe1, 0xe3);
inline const QColor soft_ink(0xa4, 0xaa, 0xb1);
inline const QColor accent(0xe6, 0xb4, 0x50);   ///< what the next click belongs to

inline const QColor scale_ink(235, 235, 235);
inline const QColor drawn_ink(235, 235, 235);
inline const QColor proposal_ink(245, 170, 215);
inline const QColor apex_ink(255, 255, 255);
inline const QColor reference_ink(235, 235, 235);
inline const QColor centre_ink(120, 200, 245);
inline const QColor outline_ink(250, 228, 120);
inline const QColor terminus_ink(255, 158, 84);
inline const QColor void_ink(140, 240, 210);
inline const QColor break_ink(245, 170, 215);
inline const QColor hatch_ink(200, 200, 200);
inline const QColor casing(10, 11, 12, 190);    ///< a dark edge under every line on the film

/// Length of a curve's pieces on the screen: shorter ones take longer to draw and show nothing more.
constexpr double piece_px = 3.0;

/// A pen for the widget's own coordinates, so that lines keep their width whatever the film's zoom, and grow with
/// the screen's scaling.
QPen screen_pen(const QColor& ink, double width_px = 1.4, Qt::PenStyle style = Qt::SolidLine);

/// Draws twice, first as a dark edge: `draw` gets the painter with its pen set.
template <typename Draw>
void cased(QPainter& painter, const QPen& pen, Draw draw);

/// Palette, style and font of the whole application.
void dress(QApplication& application);

}  // namespace canalrule::window

#include <QPainter>

template <typename Draw>
void canalrule::window::cased(QPainter& painter, const QPen& pen, Draw draw) {
  painter.setPen(QPen(casing, pen.widthF() + 2.2, Qt::SolidLine, Qt::RoundCap, Qt::BevelJoin));
  draw(painter);
  painter.setPen(pen);
  draw(painter);
}
