#include "main_window.hpp"

#include <QCheckBox>
#include <QCloseEvent>
#include <QComboBox>
#include <QDockWidget>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QSignalBlocker>
#include <QSplitter>
#include <QThread>
#include <QToolButton>
#include <QVBoxLayout>

#include "answer_panel.hpp"
#include "canals_card.hpp"
#include "film_list.hpp"
#include "film_view.hpp"
#include "scale_card.hpp"
#include "tooth_chart.hpp"
#include "unrolled_view.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

constexpr int marks_panel_em = 24;   // widths in heights of a letter, so that they grow with the font
constexpr int answer_panel_em = 23;
constexpr QSize usual_size(1360, 860);

/// What the start of the window says, before any film.
QString empty_text() {
  return MainWindow::tr(
      "<h3>No film yet</h3>"
      "<p>Drop a film here, or open one with <b>Ctrl+O</b>: PNG or DICOM. A folder or a case list "
      "(<b>Ctrl+Shift+O</b>) goes through many.</p>"
      "<p>Then three steps, in any order:</p>"
      "<p><b>1 Scale.</b> Click along the file in the canal from its stop to its tip and say how long it is; or use "
      "the film's own spacing; or carry the scale over from the film that shows the file.</p>"
      "<p><b>2 Canals.</b> Click the orifice and the apex; the line between them is proposed.</p>"
      "<p><b>3 Apex.</b> Set the radiographic apex of each canal.</p>"
      "<p>The measurement stands beside the film as soon as there is enough for it. All is saved as you go; the "
      "film itself is never changed.</p>");
}

template <class Value>
void show_choice(QComboBox* box, const std::optional<Value>& value) {
  const QSignalBlocker blocked(box);
  box->setCurrentIndex(box->findData(value ? static_cast<int>(*value) : -1));
}

}  // namespace

MainWindow::MainWindow(const Opening& opening, const std::filesystem::path& spare_folder)
    : criteria_(std::make_shared<const Criteria>(load_criteria(opening.criteria))),
      saving_{.reader = opening.reader,
              .folder = opening.readings,
              .blind_seed = opening.blind_seed,
              .file = {},
              .spare_folder = spare_folder},
      bench_(criteria_) {
  setObjectName(QStringLiteral("canalrule"));
  auto* columns = new QSplitter(Qt::Horizontal);
  columns->setChildrenCollapsible(false);
  columns->addWidget(make_marks_panel());
  columns->addWidget(make_middle());
  answer_ = new AnswerPanel(bench_);
  answer_->setMinimumWidth(answer_panel_em * fontMetrics().height());
  columns->addWidget(answer_);
  columns->setStretchFactor(1, 1);
  setCentralWidget(columns);
  make_film_list();
  make_menus();
  setAcceptDrops(true);
  resize(usual_size);

  connect(&bench_, &Bench::drawing_changed, this, &MainWindow::show_drawing);
  connect(&bench_, &Bench::pen_changed, this, &MainWindow::show_drawing);
  connect(&bench_, &Bench::film_changed, this, &MainWindow::show_drawing);
  connect(&bench_, &Bench::saving_changed, this, &MainWindow::show_saving);
  connect(film_, &FilmView::tone_changed, this, [this] { answer_->unrolled().set_tone(film_->tone()); });
  connect(scale_, &ScaleCard::other_film_wanted, this, &MainWindow::ask_for_other_film);
  show_drawing();
  show_saving();
  show_title();
}

MainWindow::~MainWindow() {
  if (pages_) pages_->wait();
}

QWidget* MainWindow::make_marks_panel() {
  auto* inside = new QWidget;
  auto* layout = new QVBoxLayout(inside);
  layout->setContentsMargins(6, 6, 6, 6);
  layout->setSpacing(6);
  auto* top = new QHBoxLayout;
  top->addWidget(new ToothButton(bench_));
  top->addStretch();
  auto* reader_label = new QLabel(tr("Reader"));
  reader_ = new QLineEdit(qstring(saving_.reader));
  reader_->setAccessibleName(tr("Who reads the films"));
  reader_->setPlaceholderText(tr("name or code"));
  reader_->setMaximumWidth(8 * fontMetrics().height());
  reader_label->setBuddy(reader_);
  connect(reader_, &QLineEdit::editingFinished, this, &MainWindow::change_reader);
  top->addWidget(reader_label);
  top->addWidget(reader_);
  layout->addLayout(top);
  scale_ = new ScaleCard(bench_);
  layout->addWidget(scale_);
  layout->addWidget(new CanalsCard(bench_));
  layout->addWidget(new ApexCard(bench_));
  film_fields_ = new QWidget;
  film_fields_->setLayout(film_fields());
  layout->addWidget(film_fields_);
  layout->addStretch();
  auto* scroll = new QScrollArea;
  scroll->setWidget(inside);
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  scroll->setMinimumWidth(marks_panel_em * fontMetrics().height());
  return scroll;
}

/// What belongs to the film as a whole: a note, why it can't be read, how its grey is to be taken.
QVBoxLayout* MainWindow::film_fields() {
  auto* layout = new QVBoxLayout;
  layout->setContentsMargins(2, 2, 2, 2);
  auto* form = new QFormLayout;
  form->setVerticalSpacing(4);
  note_ = new QLineEdit;
  note_->setAccessibleName(tr("Note on this film"));
  connect(note_, &QLineEdit::editingFinished, this, [this] {
    const std::string note = note_->text().trimmed().toStdString();
    if (bench_.has_film() && note != bench_.drawing().note) bench_.edit(desk::SetNote{note});
  });
  form->addRow(tr("Note"), note_);
  not_assessable_ = new QComboBox;
  not_assessable_->setEditable(true);
  not_assessable_->setInsertPolicy(QComboBox::NoInsert);
  // Reasons usual in audits of films; common practice, no source.
  not_assessable_->addItems({QString(), tr("apex not on the film"), tr("canals on top of each other"),
                             tr("film too dark or too light"), tr("film distorted"), tr("no fill to be seen")});
  not_assessable_->setAccessibleName(tr("Why this film can't be read"));
  not_assessable_->lineEdit()->setPlaceholderText(tr("no reason: it can be read"));
  const auto take_reason = [this] {
    const std::string words = not_assessable_->currentText().trimmed().toStdString();
    const std::optional<std::string> reason = words.empty() ? std::nullopt : std::optional(words);
    if (bench_.has_film() && reason != bench_.drawing().not_assessable) bench_.edit(desk::SetNotAssessable{reason});
  };
  connect(not_assessable_->lineEdit(), &QLineEdit::editingFinished, this, take_reason);
  connect(not_assessable_, &QComboBox::textActivated, this, take_reason);
  form->addRow(tr("Not assessable"), not_assessable_);
  response_ = new QComboBox;
  response_->setAccessibleName(tr("How grey follows exposure"));
  response_->addItem(tr("as the film says"), -1);
  response_->addItem(tr("log: linear in attenuation"), static_cast<int>(Response::log));
  response_->addItem(tr("linear in exposure"), static_cast<int>(Response::linear));
  response_->addItem(tr("made for display"), static_cast<int>(Response::display));
  radiopaque_ = new QComboBox;
  radiopaque_->setAccessibleName(tr("Which end of the grey is radiopaque"));
  radiopaque_->addItem(tr("as the film says"), -1);
  radiopaque_->addItem(tr("bright"), static_cast<int>(Radiopaque::bright));
  radiopaque_->addItem(tr("dark"), static_cast<int>(Radiopaque::dark));
  const auto take_grey = [this] {
    desk::SetGrey grey;
    if (response_->currentData().toInt() >= 0) grey.response = static_cast<Response>(response_->currentData().toInt());
    if (radiopaque_->currentData().toInt() >= 0)
      grey.radiopaque = static_cast<Radiopaque>(radiopaque_->currentData().toInt());
    bench_.edit(grey);
  };
  for (QComboBox* box : {not_assessable_, response_, radiopaque_}) {
    box->setMinimumContentsLength(8);
    box->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  }
  connect(response_, &QComboBox::activated, this, take_grey);
  connect(radiopaque_, &QComboBox::activated, this, take_grey);
  form->addRow(tr("Grey"), response_);
  form->addRow(tr("Radiopaque"), radiopaque_);
  layout->addLayout(form);
  saving_words_ = new QLabel;
  saving_words_->setObjectName(QStringLiteral("soft"));
  saving_words_->setAccessibleName(tr("How the marks are kept"));
  layout->addWidget(saving_words_);
  return layout;
}

QWidget* MainWindow::make_middle() {
  auto* middle = new QWidget;
  auto* layout = new QVBoxLayout(middle);
  layout->setContentsMargins(0, 4, 0, 0);
  layout->setSpacing(4);
  next_ = new QLabel;
  next_->setObjectName(QStringLiteral("next"));
  next_->setWordWrap(true);
  next_->setAccessibleName(tr("What the next click does"));
  // Two lines always: a longer sentence must not move the film under the pointer.
  next_->ensurePolished();
  next_->setFixedHeight(2 * next_->fontMetrics().height() + 10);
  go_on_ = new QPushButton;
  connect(go_on_, &QPushButton::clicked, &bench_, &Bench::go_on);
  auto* top = new QHBoxLayout;
  top->addWidget(next_, 1);
  top->addWidget(go_on_);
  layout->addLayout(top);

  told_bar_ = new QWidget;
  auto* told = new QHBoxLayout(told_bar_);
  told->setContentsMargins(0, 0, 0, 0);
  told_ = new QLabel;
  told_->setObjectName(QStringLiteral("told"));
  told_->setWordWrap(true);
  told_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  take_over_ = new QPushButton(tr("Take these marks over"));
  connect(take_over_, &QPushButton::clicked, this, [this] {
    if (bench_.has_film() && bench_.work().marks_set_aside())
      bench_.edit(desk::SetDrawing{*bench_.work().marks_set_aside()});
    told_bar_->hide();
  });
  auto* dismiss = new QPushButton(tr("Seen"));
  dismiss->setAccessibleName(tr("Put this message away"));
  connect(dismiss, &QPushButton::clicked, told_bar_, &QWidget::hide);
  told->addWidget(told_, 1);
  told->addWidget(take_over_);
  told->addWidget(dismiss);
  told_bar_->hide();
  layout->addWidget(told_bar_);

  auto* films = new QSplitter(Qt::Horizontal);
  films->setChildrenCollapsible(false);
  other_ = new FilmView(bench_, desk::WhichFilm::other);
  other_box_ = new QWidget;
  auto* other = new QVBoxLayout(other_box_);
  other->setContentsMargins(0, 0, 0, 0);
  other_name_ = new QLabel;
  other_name_->setObjectName(QStringLiteral("heading"));
  other_name_->setWordWrap(true);
  other->addWidget(other_name_);
  other->addWidget(other_, 1);
  other_box_->hide();
  film_ = new FilmView(bench_, desk::WhichFilm::this_one);
  film_->set_empty_text(empty_text());
  films->addWidget(other_box_);
  films->addWidget(film_);
  films->setStretchFactor(0, 1);
  films->setStretchFactor(1, 1);
  layout->addWidget(films, 1);
  layout->addWidget(make_view_row());
  return middle;
}

/// How the film is shown, below it.
QWidget* MainWindow::make_view_row() {
  auto* row = new QWidget;
  auto* layout = new QHBoxLayout(row);
  layout->setContentsMargins(4, 0, 4, 4);
  layout->setSpacing(2);
  const auto button = [layout](const QString& words, const QString& name, auto run) {
    auto* made = new QToolButton;
    made->setText(words);
    made->setToolTip(name);
    made->setAccessibleName(name);
    QObject::connect(made, &QToolButton::clicked, made, run);
    layout->addWidget(made);
    return made;
  };
  button(tr("Whole"), tr("Show the whole film (F)"), [this] { film_->fit(); });
  button(tr("1:1"), tr("One film pixel on one screen pixel (1)"), [this] { film_->one_to_one(); });
  button(QStringLiteral("−"), tr("Smaller (-)"), [this] { film_->zoom_out(); });
  button(QStringLiteral("+"), tr("Larger (+)"), [this] { film_->zoom_in(); });
  zoom_ = new QLabel;
  zoom_->setObjectName(QStringLiteral("soft"));
  zoom_->setMinimumWidth(fontMetrics().horizontalAdvance(QStringLiteral("4000 %")) + 8);
  layout->addWidget(zoom_);
  connect(film_, &FilmView::view_changed, this, [this] {
    zoom_->setText(film_->has_film()
                       ? tr("%1 %").arg(film_->view_port().zoom() * film_->devicePixelRatioF() * 100.0, 0, 'f', 0)
                       : QString());
  });
  button(tr("Invert"), tr("Invert the view (I)"), [this] { film_->invert(); });
  button(tr("Tone: film"), tr("Brightness and contrast for the whole film (A)"),
         [this] { if (film_->has_film()) film_->set_tone(desk::automatic_tone(film_->film())); });
  button(tr("Tone: tooth"), tr("Brightness and contrast for the marked tooth (T)"), [this] {
    if (film_->has_film()) film_->set_tone(desk::automatic_tone(film_->film(), bench_.drawing()));
  });
  layout->addStretch(1);
  return row;
}

void MainWindow::make_film_list() {
  list_ = new FilmList;
  auto* panel = new QWidget;
  auto* layout = new QVBoxLayout(panel);
  layout->setContentsMargins(0, 0, 0, 4);
  layout->addWidget(list_, 1);
  auto* pass = new QHBoxLayout;
  pass->setContentsMargins(6, 0, 6, 0);
  blind_ = new QCheckBox(tr("Blind pass, seed"));
  blind_->setToolTip(tr("Hides file names, readers and earlier readings, and shuffles the films by the seed"));
  blind_->setChecked(blind());
  seed_ = new QLineEdit(blind() ? QString::number(*saving_.blind_seed) : QStringLiteral("1"));
  seed_->setAccessibleName(tr("Seed of the blind pass"));
  seed_->setMaximumWidth(6 * fontMetrics().height());
  pass->addWidget(blind_);
  pass->addWidget(seed_);
  pass->addStretch();
  layout->addLayout(pass);
  connect(blind_, &QCheckBox::toggled, this, &MainWindow::change_blind);
  connect(seed_, &QLineEdit::editingFinished, this, &MainWindow::change_blind);
  list_dock_ = new QDockWidget(tr("Films"));
  list_dock_->setObjectName(QStringLiteral("films"));
  list_dock_->setWidget(panel);
  list_dock_->setFeatures(QDockWidget::DockWidgetClosable | QDockWidget::DockWidgetMovable);
  addDockWidget(Qt::LeftDockWidgetArea, list_dock_);
  list_dock_->hide();
  connect(list_, &FilmList::chosen, this, &MainWindow::open_film);
}

void MainWindow::show_drawing() {
  const bool film = bench_.has_film();
  film_fields_->setEnabled(film);
  const bool pen = bench_.pen().hand != desk::Hand::nothing;
  const std::optional<desk::Step> step = bench_.next_step();
  QString words;
  if (!film)
    words = tr("Open a film to begin (Ctrl+O).");
  else if (bench_.proposing())
    words = tr("Looking for the fill between the two ends…");
  else if (!pen && bench_.current_line_is_proposed())
    words = tr("The dashed line is a proposal: accept it (Ctrl+Return), or drag a point of it.");
  else
    words = said(desk::next_click(bench_.drawing(), bench_.pen()));
  if (film && !pen && step && !bench_.proposing()) {
    const QStringList names{tr("1 Scale"), tr("2 Canals"), tr("3 Apex")};
    const auto which = static_cast<std::size_t>(*step);
    const desk::StepStatus status = desk::steps(bench_.drawing(), bench_.film().spacing)[which];
    words = status.state == desk::StepState::begun
                ? said(status.text)
                : tr("Next is %1: press it, or Go on.").arg(names[static_cast<int>(which)]);
  }
  next_->setText(words);
  go_on_->setText(pen ? tr("Finish") : tr("Go on"));
  go_on_->setToolTip(tr("Shift+Return"));
  go_on_->setEnabled(film && (pen || step));
  const desk::Drawing& drawing = bench_.drawing();
  if (!note_->hasFocus() || !note_->isModified()) note_->setText(qstring(drawing.note));
  if (!not_assessable_->hasFocus() || !not_assessable_->lineEdit()->isModified())
    not_assessable_->setEditText(qstring(drawing.not_assessable.value_or("")));
  show_choice(response_, drawing.response);
  show_choice(radiopaque_, drawing.radiopaque);
  show_other_film();
}

void MainWindow::show_saving() {
  if (!bench_.has_film()) return saving_words_->clear();
  const desk::SaveState& state = bench_.work().save_state();
  const bool trouble = state.saved == desk::Saved::in_spare_journal || state.saved == desk::Saved::nowhere;
  QString words = said(state.text);
  if (blind() && !trouble) words.clear();  // they name files
  const bool reading = state.saved == desk::Saved::as_reading;
  const bool nothing = state.saved == desk::Saved::nothing_drawn;
  saving_words_->setText(trouble   ? tr("Not saved as a reading")
                         : reading ? tr("Saved")
                         : nothing ? QString()
                                   : tr("Marks kept, not yet in the reading"));
  saving_words_->setToolTip(words);
  saving_words_->setAccessibleDescription(words);
  if (trouble && told_->text() != words) tell(words);
  if (index_) refresh_list();
}

void MainWindow::show_title() {
  QString name = tr("no film");
  if (session_ && index_)
    name = said(desk::shown_name(*session_, *index_));
  setWindowTitle(tr("%1 – canalrule").arg(name));
}

void MainWindow::closeEvent(QCloseEvent* event) {
  finish_typing();
  bench_.save();
  if (bench_.has_film() && bench_.work().save_state().saved == desk::Saved::nowhere) {
    tell(tr("The window stays open, since the marks can be written nowhere: choose another folder for the readings "
            "(File menu). %1").arg(said(bench_.work().save_state().text)));
    return event->ignore();
  }
  bench_.close();
  event->accept();
}

}  // namespace canalrule::window
