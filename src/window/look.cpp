#include "look.hpp"

#include <QApplication>
#include <QStyleFactory>

namespace canalrule::window {

namespace {

/// What the palette alone can't say. Sizes in em grow with the font, and so with the screen's scaling.
constexpr const char* sheet = R"(
QToolTip { background: #f0ead6; color: #17181a; border: 1px solid #17181a; padding: 3px; }
QGroupBox, QFrame#card { border: 1px solid #51565c; border-radius: 3px; background: #2c2f33; }
QFrame#card[active="true"] { border: 2px solid #e6b450; }
QLabel#soft { color: #a4aab1; }
QLabel#heading { font-weight: bold; }
QLabel#next { font-size: 11pt; padding: 4px 8px; background: #33363a; border-left: 4px solid #e6b450; }
QLabel#told { padding: 4px 8px; background: #40382a; border-left: 4px solid #e6b450; }
QToolButton { padding: 2px 6px; }
QToolButton:checked { border: 1px solid #e6b450; background: #40382a; border-radius: 3px; }
QPushButton:focus, QToolButton:focus, QLineEdit:focus, QListView:focus, QTableView:focus
  { outline: none; border: 1px solid #e6b450; }
QPushButton { padding: 3px 10px; border: 1px solid #51565c; border-radius: 3px; background: #3a3e43; }
QPushButton:pressed { background: #2a2c2f; }
QPushButton:disabled { color: #7c8187; }
QLineEdit { border: 1px solid #51565c; border-radius: 2px; padding: 2px 4px; background: #1d1f21; }
QComboBox QLineEdit { border: 0; padding: 0; background: transparent; }
QRadioButton::indicator, QCheckBox::indicator { width: 0.75em; height: 0.75em; border: 1px solid #a4aab1;
  background: #1d1f21; margin: 1px; }
QRadioButton::indicator { border-radius: 0.45em; }
QRadioButton::indicator:checked, QCheckBox::indicator:checked { background: #e6b450; border: 3px solid #1d1f21; }
QRadioButton:focus, QCheckBox:focus { border: 1px solid #e6b450; }
QSplitter::handle { background: #17181a; }
)";

}  // namespace

QPen screen_pen(const QColor& ink, double width_px, Qt::PenStyle style) {
  return QPen(ink, width_px, style, style == Qt::SolidLine ? Qt::RoundCap : Qt::FlatCap, Qt::RoundJoin);
}

void dress(QApplication& application) {
  QApplication::setStyle(QStyleFactory::create(QStringLiteral("Fusion")));
  QPalette palette;
  palette.setColor(QPalette::Window, panel);
  palette.setColor(QPalette::WindowText, text_ink);
  palette.setColor(QPalette::Base, QColor(0x1d, 0x1f, 0x21));
  palette.setColor(QPalette::AlternateBase, panel);
  palette.setColor(QPalette::Text, text_ink);
  palette.setColor(QPalette::Button, raised);
  palette.setColor(QPalette::ButtonText, text_ink);
  palette.setColor(QPalette::BrightText, Qt::white);
  palette.setColor(QPalette::Highlight, QColor(0x6d, 0x5a, 0x2c));
  palette.setColor(QPalette::HighlightedText, Qt::white);
  palette.setColor(QPalette::PlaceholderText, QColor(0x8a, 0x90, 0x97));
  palette.setColor(QPalette::ToolTipBase, QColor(0xf0, 0xea, 0xd6));
  palette.setColor(QPalette::ToolTipText, ground);
  palette.setColor(QPalette::Link, accent);
  for (const QPalette::ColorRole role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
    palette.setColor(QPalette::Disabled, role, QColor(0x7c, 0x81, 0x87));
  application.setPalette(palette);
  application.setStyleSheet(QString::fromLatin1(sheet));
}

}  // namespace canalrule::window
