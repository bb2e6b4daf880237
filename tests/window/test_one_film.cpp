// One film, from opening it to the saved result, by mouse and by keyboard.
#include <QAbstractButton>
#include <QApplication>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QMenu>
#include <QProcess>
#include <QRegularExpression>
#include <QTabBar>
#include <QTemporaryDir>
#include <QTextBrowser>
#include <QToolButton>

#include <cmath>

#include <canalrule/record/result.hpp>

#include "driver.hpp"
#include "tooth_chart.hpp"
#include "unrolled_view.hpp"

using namespace canalrule;
using driver::Desk;
namespace fs = std::filesystem;

namespace {

constexpr const char* sample = "backfill-gap.dcm";

/// The marks that come with the sample, to click them.
Reading sample_marks() { return load_reading(driver::samples / "backfill-gap.reading.json"); }

const KnownLength& length_of(const Reading& reading) { return std::get<KnownLength>(reading.scale.front()); }

bool near(Point a, Point b, double px) { return std::hypot(a.x - b.x, a.y - b.y) <= px; }

}  // namespace

class OneFilm : public QObject {
  Q_OBJECT

 private Q_SLOTS:
  void init() {
    temporary_ = std::make_unique<QTemporaryDir>();
    folder_ = temporary_->path().toStdString();
    driver::copy_samples(folder_, {sample});
    desk_ = std::make_unique<Desk>(folder_);
  }

  void cleanup() {
    desk_.reset();
    temporary_.reset();
  }

  void without_a_film_the_window_says_how_to_begin() {
    QVERIFY(next().contains(QStringLiteral("Ctrl+O")));
    QVERIFY(!desk_->button(QStringLiteral("Go on")).isEnabled());
    QCOMPARE(words(), QStringLiteral("The measurement appears here."));
  }

  void from_the_film_to_a_result_that_measure_writes_too() {
    open();
    mark_all();
    QVERIFY(desk_->measured());
    QVERIFY(desk_->bench.result().has_value());
    QVERIFY(desk_->window.save_result(folder_ / "by-hand.result.json"));
    const fs::path reading = folder_ / "backfill-gap.reading.json";
    QCOMPARE(desk_->bench.work().reading_file(), reading);
    QProcess measure;
    measure.start(QStringLiteral(CANALRULE_PROGRAM),
                  {QStringLiteral("measure"), QString::fromStdString(reading.string()), QStringLiteral("--json")});
    QVERIFY(measure.waitForFinished(60000));
    QCOMPARE(measure.exitCode(), 0);
    const std::string printed = measure.readAllStandardOutput().toStdString();
    QVERIFY(printed.size() > 1000);
    QCOMPARE(driver::content(folder_ / "by-hand.result.json"), printed);
    QCOMPARE(write_result(*desk_->bench.result()), printed);  // what stands beside the film
  }

  void the_answer_says_figures_verdicts_and_what_cannot_be_assessed() {
    open();
    QVERIFY(words().contains(QStringLiteral("Nothing is measured yet")));
    QVERIFY(!words().contains(QStringLiteral("Terminus")));  // unknown is empty, not zero
    mark_all();
    QVERIFY(desk_->measured());
    // Of the sample, 0.80 mm, marked by clicks on whole pixels of the screen.
    const QRegularExpressionMatch terminus =
        QRegularExpression(QStringLiteral("Terminus ([0-9.]+)")).match(words());
    QVERIFY(terminus.hasMatch());
    QVERIFY(std::abs(terminus.captured(1).toDouble() - 0.8) < 0.05);
    for (const char* expected : {"Voids 1", "Taper 0.0", "outside", "within", "chance of being within", "k = 2"})
      QVERIFY2(words().contains(QString::fromUtf8(expected)), expected);
    for (const Judgement& judgement : desk_->bench.result()->judged->judgements)
      QVERIFY2(words().contains(QString::fromStdString(judgement.text)), judgement.text.c_str());
    for (const Note& warning : desk_->bench.result()->warnings)
      QVERIFY2(words().contains(QString::fromStdString(warning.text)), warning.text.c_str());
  }

  void every_step_can_be_undone_and_done_again() {
    open();
    const desk::Drawing blank = desk_->bench.drawing();
    mark_all();
    const desk::Drawing marked = desk_->bench.drawing();
    QVERIFY(desk_->measured());
    const std::string answer = write_result(*desk_->bench.result());
    const int steps = desk_->bench.undo_stack().index();
    QVERIFY(steps >= 6);
    for (int i = 0; i < steps; ++i) desk_->shortcut(QKeySequence::Undo);
    QCOMPARE(desk_->bench.drawing(), blank);
    QVERIFY(!desk_->bench.result().has_value());
    for (int i = 0; i < steps; ++i) desk_->shortcut(Qt::CTRL | Qt::SHIFT | Qt::Key_Z);
    QCOMPARE(desk_->bench.drawing(), marked);
    QVERIFY(desk_->measured());
    desk_->bench.save();
    QCOMPARE(write_result(*desk_->bench.result()), answer);
  }

  void a_drag_moves_a_mark_and_is_one_step_to_undo() {
    open();
    mark_all();
    const desk::Drawing before = desk_->bench.drawing();
    const int steps = desk_->bench.undo_stack().index();
    const Point apex = *before.canals.front().apex;
    const Point to{apex.x + 20.0, apex.y + 12.0};
    desk_->drag(apex, to);
    QVERIFY(near(*desk_->bench.drawing().canals.front().apex, to, 1.0 / zoom()));
    QCOMPARE(desk_->bench.undo_stack().index(), steps + 1);
    desk_->shortcut(QKeySequence::Undo);
    QCOMPARE(desk_->bench.drawing(), before);
  }

  void dragging_a_line_adds_a_point_and_delete_removes_it() {
    open();  // and no scale: its line would lie on the canal's
    desk_->button(QStringLiteral("Click along it")).click();
    desk_->shortcut(Qt::CTRL | Qt::Key_2);
    for (const Point& point : {Point{300.0, 250.0}, Point{305.0, 450.0}, Point{310.0, 650.0}}) desk_->click(point);
    const Polyline path = desk_->bench.drawing().canals.front().path;
    QCOMPARE(path.size(), std::size_t{3});
    const Point between{(path[1].x + path[2].x) / 2.0, (path[1].y + path[2].y) / 2.0};
    const Point to{between.x + 15.0, between.y};
    desk_->drag(between, to);
    QCOMPARE(desk_->bench.drawing().canals.front().path.size(), path.size() + 1);
    QVERIFY(near(desk_->bench.drawing().canals.front().path[2], to, 2.0 / zoom()));
    QTest::mouseMove(&desk_->film(), desk_->place(desk_->film(), to));
    desk_->key(Qt::Key_Delete);
    QCOMPARE(desk_->bench.drawing().canals.front().path, path);
  }

  void the_menu_of_a_place_removes_a_point() {
    open();
    mark_all();
    const Polyline path = desk_->bench.drawing().canals.front().path;
    desk_->click(desk_->film(), path[2], Qt::RightButton);
    auto* menu = desk_->film().findChild<QMenu*>();
    QVERIFY(menu != nullptr && menu->isVisible());
    QTest::keyClick(menu, Qt::Key_Down);
    QTest::keyClick(menu, Qt::Key_Return);
    QCOMPARE(desk_->bench.drawing().canals.front().path.size(), path.size() - 1);
  }

  void a_proposal_is_one_until_it_is_accepted_or_dragged() {
    open();
    mark_scale();
    desk_->shortcut(Qt::CTRL | Qt::Key_2);
    const Reading marks = sample_marks();
    desk_->click(marks.canals.front().path.front());
    desk_->click(marks.canals.front().apex);
    QVERIFY(desk_->measured());
    const auto line = [this] { return desk_->bench.drawing().canals.front().line; };
    QCOMPARE(line(), LineSource::proposed);
    QVERIFY(desk_->bench.drawing().canals.front().path.size() >= 4);
    QVERIFY(next().contains(QStringLiteral("proposal")));
    desk_->shortcut(Qt::CTRL | Qt::Key_Return);
    QCOMPARE(line(), LineSource::drawn);
    desk_->shortcut(QKeySequence::Undo);
    QCOMPARE(line(), LineSource::proposed);
    const Point second = desk_->bench.drawing().canals.front().path[1];
    desk_->drag(second, {second.x + 8.0, second.y});
    QCOMPARE(line(), LineSource::drawn);
  }

  void all_of_it_goes_by_keyboard() {
    open();
    const Reading marks = sample_marks();
    desk_->shortcut(Qt::Key_F6);
    QVERIFY(desk_->film().hasFocus());
    desk_->shortcut(Qt::CTRL | Qt::Key_1);
    for (const Point& end : length_of(marks).points) click_by_keys(end);
    desk_->shortcut(Qt::SHIFT | Qt::Key_Return);
    enter_length(QStringLiteral("15"));
    desk_->film().setFocus();
    desk_->shortcut(Qt::CTRL | Qt::Key_2);
    click_by_keys(marks.canals.front().path.front());
    click_by_keys(marks.canals.front().apex);
    QVERIFY(desk_->measured());
    desk_->shortcut(Qt::CTRL | Qt::Key_Return);
    QVERIFY(desk_->measured());
    QVERIFY(desk_->bench.result().has_value());
    const Point apex = *desk_->bench.drawing().canals.front().apex;
    QVERIFY(near(apex, marks.canals.front().apex, 0.1));  // sub-pixel: Ctrl+arrow is a tenth

    // From mark to mark; the last of them, the apex, picked up, moved and put down.
    desk_->key(Qt::Key_Comma);
    while (!near(*desk_->film().cursor(), apex, 0.0)) desk_->key(Qt::Key_Comma);
    desk_->key(Qt::Key_Space);
    desk_->key(Qt::Key_Right);
    desk_->key(Qt::Key_Right);
    desk_->key(Qt::Key_Space);
    desk_->key(Qt::Key_Right);
    QVERIFY(near(*desk_->bench.drawing().canals.front().apex, {apex.x + 2.0, apex.y}, 1e-9));
    const std::size_t points = desk_->bench.drawing().canals.front().path.size();
    desk_->key(Qt::Key_Period);
    while (!near(*desk_->film().cursor(), desk_->bench.drawing().canals.front().path[1], 0.0))
      desk_->key(Qt::Key_Period);
    desk_->key(Qt::Key_Delete);
    QCOMPARE(desk_->bench.drawing().canals.front().path.size(), points - 1);
  }

  void decimal_point_and_comma_are_taken_and_nothing_else() {
    open();
    mark_scale();
    const auto length = [this] { return desk_->bench.drawing().scale.front().size_mm; };
    enter_length(QStringLiteral("21,5"));
    QCOMPARE(length(), std::optional(21.5));
    enter_length(QStringLiteral("20.25"));
    QCOMPARE(length(), std::optional(20.25));
    for (const char* none : {"1.234,5", "twenty", "21 in"}) {
      enter_length(QString::fromUtf8(none));
      QCOMPARE(length(), std::optional(20.25));
      QVERIFY(known_length().lineEdit()->toolTip().contains(QString::fromUtf8(none)));
    }
    enter_length(QString());
    QCOMPARE(length(), std::optional<double>());
    QVERIFY(!desk_->bench.result().has_value());
  }

  void the_plan_is_optional_and_is_drawn_against() {
    open();
    mark_all();
    for (const auto& [name, value] : {std::pair("Planned tip diameter", "0,3"), std::pair("Planned taper", "6 %"),
                                      std::pair("Working length", "20"),
                                      std::pair("Backfill from, measured from the apex", "5")}) {
      auto& line = desk_->control<QLineEdit>(QString::fromUtf8(name));
      line.setFocus();
      QTest::keyClicks(&line, QString::fromUtf8(value));
      QTest::keyClick(&line, Qt::Key_Return);
    }
    const std::optional<Planned> plan = desk_->bench.drawing().canals.front().planned;
    QVERIFY(plan.has_value());
    QCOMPARE(plan->tip_diameter_mm, std::optional(0.3));
    QCOMPARE(plan->taper, std::optional(0.06));
    QCOMPARE(plan->working_length_mm, std::optional(20.0));
    QCOMPARE(plan->backfill_from_mm, std::optional(5.0));
    QVERIFY(desk_->measured());
    QVERIFY(!desk_->bench.result()->canals.front().against_plan.width.empty());
  }

  void a_tooth_is_chosen_from_the_chart_and_its_canals_are_offered() {
    open();
    desk_->button(QStringLiteral("Tooth: not said")).click();
    auto* chart = desk_->window.findChild<window::ToothChart*>();
    QVERIFY(chart != nullptr && chart->isVisible());
    for (auto* tooth : chart->findChildren<QToolButton*>())
      if (tooth->text() == QStringLiteral("36")) QTest::mouseClick(tooth, Qt::LeftButton);
    QCOMPARE(desk_->bench.drawing().tooth, std::string("36"));
    desk_->shortcut(Qt::CTRL | Qt::Key_2);
    QCOMPARE(desk_->bench.drawing().canals.front().name, std::string("MB"));
    auto& name = desk_->control<QComboBox>(QStringLiteral("Name of the canal"));
    QVERIFY(name.findData(QStringLiteral("ML")) >= 0);
    name.lineEdit()->selectAll();
    QTest::keyClicks(name.lineEdit(), QStringLiteral("own name"));
    QTest::keyClick(name.lineEdit(), Qt::Key_Return);
    QCOMPARE(desk_->bench.drawing().canals.front().name, std::string("own name"));
  }

  void the_view_changes_and_the_film_does_not() {
    open();
    window::FilmView& film = desk_->film();
    const cv::Mat before = film.film().grey.clone();
    const QPoint pointer(film.width() / 3, film.height() / 3);
    const Point under = film.view_port().on_film(pointer);
    QWheelEvent wheel(pointer, film.mapToGlobal(pointer), {}, {0, 240}, Qt::NoButton, Qt::NoModifier, Qt::NoScrollPhase,
                      false);
    QApplication::sendEvent(&film, &wheel);
    QVERIFY(near(film.view_port().on_film(pointer), under, 1e-6));
    const double large = zoom();
    const QPointF empty = film.view_port().on_screen({40.0, 300.0});
    film.reveal({300.0, 600.0});
    const Point corner = film.view_port().on_film({100.0, 100.0});
    desk_->drag(film.view_port().on_film({300.0, 300.0}), film.view_port().on_film({330.0, 300.0}));
    QVERIFY(near(film.view_port().on_film({130.0, 100.0}), corner, 1e-6));
    QVERIFY(!std::isnan(empty.x()));
    desk_->button(QStringLiteral("1:1")).click();
    QCOMPARE(zoom() * film.devicePixelRatioF(), 1.0);
    desk_->button(QStringLiteral("Whole")).click();
    QVERIFY(zoom() < large);
    const desk::Tone tone = film.tone();
    desk_->drag({200.0, 300.0}, {240.0, 360.0}, Qt::RightButton);
    QVERIFY(!(film.tone() == tone));
    desk_->shortcut(Qt::Key_I);
    QCOMPARE(film.tone().shown, desk::Shown::inverted);
    desk_->shortcut(Qt::Key_I);
    desk_->shortcut(Qt::Key_A);
    QCOMPARE(film.tone(), tone);
    QCOMPARE(cv::norm(before, film.film().grey, cv::NORM_INF), 0.0);
    QVERIFY(desk_->bench.drawing() == desk::Drawing{});  // none of this was an edit
  }

  void pointing_at_the_film_shows_the_place_beside_it_and_back() {
    open();
    mark_all();
    QVERIFY(desk_->measured());
    const desk::UnrolledCanal& unrolled = *desk_->bench.unrolled(0);
    const Point at = unrolled.on_film({5.0, 0.0});
    QTest::mouseMove(&desk_->film(), desk_->place(desk_->film(), at));
    QVERIFY(desk_->bench.pointed().has_value());
    QVERIFY(std::abs(desk_->bench.pointed()->at_mm - 5.0) < 0.1);
    auto& view = *desk_->window.findChild<window::UnrolledView*>();
    QVERIFY(view.accessibleDescription().contains(QStringLiteral("mm, width")));
    QTest::mouseMove(&view, {view.width() / 2, view.height() / 2});
    QVERIFY(desk_->bench.pointed().has_value());
    const double by_mouse = desk_->bench.pointed()->at_mm;
    desk_->shortcut(Qt::Key_F7);
    QTest::keyClick(&view, Qt::Key_Up);
    QVERIFY(std::abs(desk_->bench.pointed()->at_mm - by_mouse - 0.1) < 1e-9);
  }

  void every_control_has_a_name() {
    open();
    mark_all();
    QVERIFY(desk_->measured());
    int controls = 0;
    for (QWidget* widget : desk_->window.findChildren<QWidget*>()) {
      const bool button = qobject_cast<QAbstractButton*>(widget) != nullptr;
      const bool entry = qobject_cast<QLineEdit*>(widget) != nullptr || qobject_cast<QComboBox*>(widget) != nullptr;
      const bool view = widget->focusPolicy() != Qt::NoFocus && qobject_cast<QAbstractScrollArea*>(widget) == nullptr;
      if (!widget->isVisible() || (!button && !entry && !view)) continue;
      if (qobject_cast<QComboBox*>(widget->parentWidget()) != nullptr) continue;  // its line bears its name
      if (qobject_cast<QTabBar*>(widget->parentWidget()) != nullptr) continue;    // its scroll buttons
      ++controls;
      const auto* pushed = qobject_cast<QAbstractButton*>(widget);
      const bool named = !widget->accessibleName().isEmpty() || (pushed != nullptr && !pushed->text().isEmpty());
      QVERIFY2(named, qPrintable(QString::fromUtf8(widget->metaObject()->className()) + QStringLiteral(" in ") +
                                 widget->parentWidget()->accessibleName()));
    }
    QVERIFY(controls > 30);
  }

  void nothing_of_the_panel_is_cut() {
    open();
    mark_all();
    QVERIFY(desk_->measured());
    QTest::qWait(50);  // the layout follows the words
    for (QWidget* widget : desk_->window.findChildren<QWidget*>()) {
      if (!widget->isVisible() || qobject_cast<QAbstractButton*>(widget) == nullptr) continue;
      const QString name = QString::fromUtf8(widget->metaObject()->className()) + QLatin1Char(' ') +
                           qobject_cast<QAbstractButton*>(widget)->text() + widget->accessibleName();
      QVERIFY2(widget->width() >= widget->minimumSizeHint().width(), qPrintable(name));
      QVERIFY2(widget->visibleRegion().boundingRect().width() >= widget->width() - 1, qPrintable(name));
    }
  }

 private:
  void open() { QVERIFY(desk_->window.open(folder_ / sample)); }
  double zoom() const { return desk_->film().view_port().zoom(); }
  QString next() const { return desk_->control<QLabel>(QStringLiteral("What the next click does")).text(); }
  QString words() const {
    return desk_->control<QTextBrowser>(QStringLiteral("Figures, verdicts and warnings")).toPlainText().replace(
        QChar(0xA0), QLatin1Char(' '));
  }
  QComboBox& known_length() const { return desk_->control<QComboBox>(QStringLiteral("Known length in mm")); }

  void enter_length(const QString& typed) {
    QLineEdit* line = known_length().lineEdit();
    line->setFocus();
    line->selectAll();
    QTest::keyClick(line, Qt::Key_Delete);
    QTest::keyClicks(line, typed);
    QTest::keyClick(line, Qt::Key_Return);
  }

  void mark_scale() {
    desk_->button(QStringLiteral("Go on")).click();
    const Reading marks = sample_marks();
    for (const Point& end : length_of(marks).points) desk_->click(end);
    desk_->button(QStringLiteral("Finish")).click();
    enter_length(QStringLiteral("15"));
  }

  /// Scale, then the canal clicked along, then its apex.
  void mark_all() {
    mark_scale();
    desk_->button(QStringLiteral("Click along it")).click();
    desk_->shortcut(Qt::CTRL | Qt::Key_2);
    const Reading marks = sample_marks();
    for (const Point& point : marks.canals.front().path) desk_->click(point);
    desk_->shortcut(Qt::SHIFT | Qt::Key_Return);
    desk_->click(marks.canals.front().apex);
  }

  /// Moves the cross there by arrow keys, to a tenth of a pixel, and clicks.
  void click_by_keys(Point to) {
    desk_->key(Qt::Key_Left);
    const auto go = [this](double by, Qt::Key less, Qt::Key more) {
      auto tenths = std::lround(by * 10.0);
      const Qt::Key key = tenths < 0 ? less : more;
      for (tenths = std::abs(tenths); tenths >= 100; tenths -= 100) desk_->key(key, Qt::ShiftModifier);
      for (; tenths >= 10; tenths -= 10) desk_->key(key);
      for (; tenths > 0; --tenths) desk_->key(key, Qt::ControlModifier);
    };
    go(to.x - desk_->film().cursor()->x, Qt::Key_Left, Qt::Key_Right);
    go(to.y - desk_->film().cursor()->y, Qt::Key_Up, Qt::Key_Down);
    desk_->key(Qt::Key_Return);
  }

  std::unique_ptr<QTemporaryDir> temporary_;
  fs::path folder_;
  std::unique_ptr<Desk> desk_;
};

QTEST_MAIN(OneFilm)
#include "test_one_film.moc"
