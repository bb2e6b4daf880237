#include "main_window.hpp"

#include <QAction>
#include <QDockWidget>
#include <QFileDialog>
#include <QMenuBar>
#include <QTextBrowser>

#include "answer_panel.hpp"
#include "film_view.hpp"
#include "unrolled_view.hpp"

namespace canalrule::window {

namespace {

namespace fs = std::filesystem;

constexpr double tone_key_px = 20.0;  // as if dragged so far

QString keys_text() {
  return MainWindow::tr(
      "<h3>On the film</h3><table cellspacing='4'>"
      "<tr><td><b>Click</b></td><td>does what the line above the film says</td></tr>"
      "<tr><td><b>Drag a mark</b></td><td>moves it; a proposed line becomes a drawn one</td></tr>"
      "<tr><td><b>Drag a line</b></td><td>adds a point to it</td></tr>"
      "<tr><td><b>Drag elsewhere</b></td><td>moves the film; the wheel zooms about the pointer</td></tr>"
      "<tr><td><b>Right drag</b></td><td>brightness (right, left) and contrast (up, down)</td></tr>"
      "<tr><td><b>Right click</b></td><td>what can be done at that place</td></tr>"
      "<tr><td><b>Double click</b></td><td>ends a line</td></tr></table>"
      "<h3>By keyboard, with the film in focus</h3><table cellspacing='4'>"
      "<tr><td><b>Arrows</b></td><td>move the cross by a pixel; Shift: ten, Ctrl: a tenth; Alt: the film</td></tr>"
      "<tr><td><b>Return</b></td><td>clicks at the cross; Shift+Return ends a line or goes on</td></tr>"
      "<tr><td><b>Space</b></td><td>picks the mark under the cross up, and puts it down</td></tr>"
      "<tr><td><b>, and .</b></td><td>go to the mark before and the next</td></tr>"
      "<tr><td><b>Insert, Delete</b></td><td>add a point to a line, remove a point</td></tr>"
      "<tr><td><b>Escape</b></td><td>lets go of mark and pen</td></tr></table>"
      "<p>Ctrl+1, 2, 3 take the pen for a step, Ctrl+Return accepts a proposed line; all other keys stand in the "
      "menus.</p>");
}

}  // namespace

QAction* MainWindow::action(QMenu* menu, const QString& words, const QKeySequence& key, std::function<void()> run) {
  QAction* made = menu->addAction(words);
  made->setShortcut(key);
  connect(made, &QAction::triggered, this, std::move(run));
  return made;
}

void MainWindow::make_menus() {
  using Key = QKeySequence;
  const auto chooser = [this](const QString& title, QFileDialog::FileMode mode, auto then) {
    return [this, title, mode, then] {
      auto* dialog = new QFileDialog(this, title);
      dialog->setAttribute(Qt::WA_DeleteOnClose);
      dialog->setFileMode(mode);
      if (mode == QFileDialog::Directory) dialog->setOption(QFileDialog::ShowDirsOnly);
      connect(dialog, &QFileDialog::fileSelected, this,
              [then](const QString& file) { then(fs::path(file.toStdString())); });
      dialog->show();
    };
  };
  QMenu* file = menuBar()->addMenu(tr("&File"));
  action(file, tr("&Open film, reading or case list…"), Key::Open,
         chooser(tr("Open a film, a reading or a case list"), QFileDialog::ExistingFile,
                 [this](const fs::path& what) { open(what); }));
  action(file, tr("Open &folder of films…"), Key(Qt::CTRL | Qt::SHIFT | Qt::Key_O),
         chooser(tr("Open a folder of films"), QFileDialog::Directory, [this](const fs::path& what) { open(what); }));
  file->addSeparator();
  action(file, tr("&Save now"), Key::Save, [this] { bench_.save(); });
  action(file, tr("&Keep the readings in another folder…"), {},
         chooser(tr("Keep the readings in this folder"), QFileDialog::Directory, [this](const fs::path& folder) {
           saving_.folder = folder;
           bench_.save_in(folder);
           reopen();
         }));
  file->addSeparator();
  action(file, tr("Save &result file…"), Key(Qt::CTRL | Qt::Key_R), [this] {
    ask_where(tr("Save the result"), QStringLiteral(".result.json"), tr("Result (*.result.json)"),
              [this](const fs::path& to) { save_result(to); });
  });
  action(file, tr("Save a &copy of the reading…"), {}, [this] {
    ask_where(tr("Save a copy of the reading"), QStringLiteral(".copy.reading.json"), tr("Reading (*.reading.json)"),
              [this](const fs::path& to) { save_reading_copy(to); });
  });
  action(file, tr("Save &picture…"), Key(Qt::CTRL | Qt::Key_P), [this] {
    ask_where(tr("Save the picture"), QStringLiteral(".picture.png"), tr("Picture (*.png *.svg)"),
              [this](const fs::path& to) { save_picture(to); });
  });
  action(file, tr("Save report pa&ge (PDF)…"), Key(Qt::CTRL | Qt::Key_G), [this] {
    ask_where(tr("Save the report page"), QStringLiteral(".report.pdf"), tr("Report (*.pdf *.txt)"),
              [this](const fs::path& to) { save_report(to); });
  });
  action(file, tr("Save report pages of &all films (PDF)…"), {}, [this] {
    ask_where(tr("Save the report pages of all films"), QStringLiteral("all-films.report.pdf"), tr("Report (*.pdf)"),
              [this](const fs::path& to) { save_all_reports(to); });
  });
  identity_ = file->addAction(tr("&Names of file and reader on pages and pictures"));
  identity_->setCheckable(true);
  file->addSeparator();
  action(file, tr("&Quit"), Key::Quit, [this] { close(); });

  QMenu* edit = menuBar()->addMenu(tr("&Edit"));
  QAction* undo = bench_.undo_stack().createUndoAction(this, tr("&Undo"));
  undo->setShortcut(Key::Undo);
  QAction* redo = bench_.undo_stack().createRedoAction(this, tr("&Redo"));
  redo->setShortcuts({Key(Qt::CTRL | Qt::SHIFT | Qt::Key_Z), Key(Qt::CTRL | Qt::Key_Y)});
  edit->addAction(undo);
  edit->addAction(redo);
  edit->addSeparator();
  action(edit, tr("&Finish the mark, or go on"), Key(Qt::SHIFT | Qt::Key_Return), [this] { bench_.go_on(); });
  action(edit, tr("&Begin anew"), {}, [this] {
    bench_.edit(desk::SetDrawing{});
    bench_.take_pen({});
  });
  edit->addSeparator();
  action(edit, tr("Copy the &picture"), Key(Qt::CTRL | Qt::SHIFT | Qt::Key_C), [this] { copy_picture(); });
  action(edit, tr("Copy the &report"), Key(Qt::CTRL | Qt::ALT | Qt::Key_C), [this] { copy_report(); });

  QMenu* films = menuBar()->addMenu(tr("F&ilms"));
  action(films, tr("&Next film"), Key(Qt::Key_PageDown), [this] {
    if (session_ && index_) go_to(desk::next_film(*session_, *index_));
  });
  action(films, tr("&Previous film"), Key(Qt::Key_PageUp), [this] {
    if (session_ && index_) go_to(desk::previous_film(*session_, *index_));
  });
  action(films, tr("Next film &not read yet"), Key(Qt::CTRL | Qt::Key_PageDown), [this] {
    if (session_ && index_) go_to(desk::next_unread(*session_, *index_));
  });
  films->addSeparator();
  QAction* list = list_dock_->toggleViewAction();
  list->setShortcut(Key(Qt::CTRL | Qt::Key_L));
  list->setText(tr("&List of films"));
  films->addAction(list);

  QMenu* view = menuBar()->addMenu(tr("&View"));
  action(view, tr("&Whole film"), Key(Qt::Key_F), [this] { film_->fit(); });
  action(view, tr("&One to one"), Key(Qt::Key_1), [this] { film_->one_to_one(); });
  action(view, tr("&Larger"), Key(Qt::Key_Plus), [this] { film_->zoom_in(); });
  action(view, tr("&Smaller"), Key(Qt::Key_Minus), [this] { film_->zoom_out(); });
  view->addSeparator();
  action(view, tr("&Invert"), Key(Qt::Key_I), [this] { film_->invert(); });
  action(view, tr("&Tone of the whole film"), Key(Qt::Key_A), [this] {
    if (film_->has_film()) film_->set_tone(desk::automatic_tone(film_->film()));
  });
  action(view, tr("Tone of the marked t&ooth"), Key(Qt::Key_T), [this] {
    if (film_->has_film()) film_->set_tone(desk::automatic_tone(film_->film(), bench_.drawing()));
  });
  const auto tone = [this](double right, double down) {
    return [this, right, down] {
      if (film_->has_film()) film_->set_tone(desk::dragged(film_->tone(), film_->film(), right, down));
    };
  };
  action(view, tr("&Brighter"), Key(Qt::Key_BracketRight), tone(tone_key_px, 0.0));
  action(view, tr("&Darker"), Key(Qt::Key_BracketLeft), tone(-tone_key_px, 0.0));
  action(view, tr("&More contrast"), Key(Qt::Key_BraceRight), tone(0.0, -tone_key_px));
  action(view, tr("L&ess contrast"), Key(Qt::Key_BraceLeft), tone(0.0, tone_key_px));
  view->addSeparator();
  const auto toggle = [view](const QString& words, Qt::Key key, auto run) {
    QAction* made = view->addAction(words);
    made->setCheckable(true);
    made->setChecked(true);
    made->setShortcut(key);
    QObject::connect(made, &QAction::toggled, run);
  };
  toggle(tr("Ma&rks"), Qt::Key_H, [this](bool shown) {
    film_->set_marks_shown(shown);
    other_->set_marks_shown(shown);
  });
  toggle(tr("Ma&gnifier"), Qt::Key_G, [this](bool shown) {
    film_->set_magnifier_shown(shown);
    other_->set_magnifier_shown(shown);
  });
  action(view, tr("Go to the &film"), Key(Qt::Key_F6), [this] { film_->setFocus(Qt::ShortcutFocusReason); });
  action(view, tr("Go to the &unrolled canal"), Key(Qt::Key_F7),
         [this] { answer_->unrolled().setFocus(Qt::ShortcutFocusReason); });

  QMenu* help = menuBar()->addMenu(tr("&Help"));
  action(help, tr("&Keys and mouse"), Key::HelpContents, [this] { show_keys(); });
}

void MainWindow::show_keys() {
  auto* window = new QTextBrowser(this);
  window->setWindowFlag(Qt::Window);
  window->setAttribute(Qt::WA_DeleteOnClose);
  window->setWindowTitle(tr("Keys and mouse"));
  window->setHtml(keys_text());
  window->document()->setDocumentMargin(12.0);
  window->resize(620, 560);
  window->show();
}

}  // namespace canalrule::window
