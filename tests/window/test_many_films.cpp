// Many films: going through a folder by key, notes, films that can't be read, blind passes, a second reader, a scale
// carried over from another film.
#include <QAbstractButton>
#include <QApplication>
#include <QCheckBox>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QTableWidget>
#include <QTemporaryDir>

#include <fstream>
#include <set>

#include <canalrule/desk/session.hpp>
#include <canalrule/statistics/planning.hpp>

#include "driver.hpp"

using namespace canalrule;
using driver::Desk;
namespace fs = std::filesystem;

namespace {

const std::vector<std::string> films{"beyond.png", "bubble.png", "curved.dcm", "flush.png"};

void draw_canal(Desk& desk) {
  desk.button(QStringLiteral("Click along it")).click();
  desk.shortcut(Qt::CTRL | Qt::Key_2);
  desk.click({330.0, 260.0});
  desk.click({300.0, 420.0});
  desk.shortcut(Qt::SHIFT | Qt::Key_Return);
  desk.click({330.0, 700.0});
}

}  // namespace

class ManyFilms : public QObject {
  Q_OBJECT

 private Q_SLOTS:
  void init() {
    temporary_ = std::make_unique<QTemporaryDir>();
    folder_ = temporary_->path().toStdString();
    driver::copy_samples(folder_, films);
    driver::copy_samples(folder_, {"bubble.reading.json"});
  }

  void cleanup() { temporary_.reset(); }

  void the_list_says_what_has_been_read_and_keys_go_through_it() {
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_));
    QTableWidget& list = desk.control<QTableWidget>(QStringLiteral("Films"));
    QVERIFY(list.isVisible());
    QCOMPARE(column(list, 0), (QStringList{"beyond.png", "bubble.png", "curved.dcm", "flush.png"}));
    QVERIFY(list.item(0, 1)->text().contains(QStringLiteral("not read")));
    QVERIFY(list.item(1, 1)->text().endsWith(QStringLiteral(" read")));
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(0));
    desk.shortcut(Qt::Key_PageDown);
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(1));
    QCOMPARE(desk.bench.drawing().canals.size(), std::size_t{1});
    desk.shortcut(Qt::CTRL | Qt::Key_PageDown);
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(2));
    draw_canal(desk);
    desk.shortcut(Qt::Key_PageUp);
    QVERIFY(!list.item(2, 1)->text().contains(QStringLiteral("not read")));
    QVERIFY(fs::exists(folder_ / "curved.A1.reading.json") || fs::exists(folder_ / "curved.reading.json"));
    list.setCurrentCell(3, 0);
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(3));
    QVERIFY(desk.bench.drawing().canals.empty());
  }

  void a_note_and_why_a_film_cannot_be_read_are_kept() {
    {
      Desk desk(folder_, by("A1"));
      QVERIFY(desk.window.open(folder_));
      auto& note = desk.control<QLineEdit>(QStringLiteral("Note on this film"));
      note.setFocus();
      QTest::keyClicks(&note, QStringLiteral("second film asked for, 14:30"));
      QTest::keyClick(&note, Qt::Key_Return);
      auto& reason = desk.control<QComboBox>(QStringLiteral("Why this film can't be read"));
      QTest::keyClicks(reason.lineEdit(), QStringLiteral("apex not on the film"));
      QTest::keyClick(reason.lineEdit(), Qt::Key_Return);
      desk.shortcut(Qt::Key_PageDown);
      QTableWidget& list = desk.control<QTableWidget>(QStringLiteral("Films"));
      QVERIFY(list.item(0, 1)->text().contains(QStringLiteral("not assessable")));
      QVERIFY(list.item(0, 2)->text().contains(QStringLiteral("apex not on the film")));
    }
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_));
    desk.window.open_film(0);
    QCOMPARE(desk.bench.drawing().note, std::string("second film asked for, 14:30"));
    QCOMPARE(desk.bench.drawing().not_assessable, std::optional<std::string>("apex not on the film"));
  }

  void what_is_being_typed_belongs_to_the_film_it_was_typed_at() {
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_));
    auto& note = desk.control<QLineEdit>(QStringLiteral("Note on this film"));
    note.setFocus();
    QTest::keyClicks(&note, QStringLiteral("of the first"));
    desk.shortcut(Qt::Key_PageDown);
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(1));
    QVERIFY(desk.bench.drawing().note.empty());
    QVERIFY(note.text().isEmpty());
    desk.shortcut(Qt::Key_PageUp);
    QCOMPARE(desk.bench.drawing().note, std::string("of the first"));
  }

  void one_film_that_cannot_be_used_stops_nobody() {
    std::ofstream(folder_ / "damaged.png", std::ios::binary) << "\x89PNG\r\n\x1a\n and then nothing of use";
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_));
    const auto& all = desk.window.session()->films;
    std::size_t damaged = 0;
    while (all[damaged].case_name != "damaged.png") ++damaged;
    desk.window.open_film(damaged);
    QVERIFY(!desk.bench.has_film());
    QVERIFY(told(desk).contains(QStringLiteral("damaged.png")));
    desk.shortcut(Qt::Key_PageDown);
    QCOMPARE(desk.window.film_index(), std::optional<std::size_t>(damaged + 1));
    QVERIFY(desk.bench.has_film());
  }

  void a_blind_pass_hides_names_and_readings_and_shuffles_by_its_seed() {
    const std::string first = driver::content(folder_ / "bubble.reading.json");
    window::Opening opening = by("A1");
    opening.blind_seed = 7;
    Desk desk(folder_, opening);
    QVERIFY(desk.window.open(folder_));
    std::vector<std::string> expected;
    for (const std::size_t index : statistics::draw_without_replacement(films.size(), films.size(), 7))
      expected.push_back(films[index]);
    std::vector<std::string> order;
    for (const desk::SessionFilm& film : desk.window.session()->films) order.push_back(film.film.filename().string());
    QCOMPARE(order, expected);
    for (std::size_t i = 0; i < films.size(); ++i) {
      desk.window.open_film(i);
      QVERIFY(desk.bench.drawing().canals.empty());  // earlier readings are hidden
      if (i == 0) draw_canal(desk);
      desk.bench.save();
      for (QWidget* widget : desk.window.findChildren<QWidget*>()) no_name_in(widget);
      no_name_in(&desk.window);
      const QStringList shown = column(desk.control<QTableWidget>(QStringLiteral("Films")), 0);
      for (const QString& name : shown) QVERIFY2(!names(name), qPrintable(name));
    }
    QCOMPARE(driver::content(folder_ / "bubble.reading.json"), first);
  }

  void a_blind_pass_can_be_begun_in_the_window() {
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_));
    auto& seed = desk.control<QLineEdit>(QStringLiteral("Seed of the blind pass"));
    seed.setText(QStringLiteral("12"));
    desk.button(QStringLiteral("Blind pass, seed")).click();
    QCOMPARE(desk.window.session()->saving.blind_seed, std::optional<std::uint64_t>(12));
    desk.button(QStringLiteral("Blind pass, seed")).click();
    QVERIFY(!desk.window.session()->saving.blind_seed.has_value());
  }

  void a_second_reader_never_overwrites_the_first() {
    const std::string first = driver::content(folder_ / "bubble.reading.json");
    Desk desk(folder_, by("B2"));
    QVERIFY(desk.window.open(folder_));
    desk.window.open_film(1);
    QVERIFY(desk.bench.drawing().canals.empty());
    draw_canal(desk);
    desk.bench.save();
    QVERIFY(desk.bench.work().reading_file() != folder_ / "bubble.reading.json");
    QVERIFY(fs::exists(desk.bench.work().reading_file()));
    QCOMPARE(driver::content(folder_ / "bubble.reading.json"), first);

    auto& reader = desk.control<QLineEdit>(QStringLiteral("Who reads the films"));
    reader.setFocus();
    reader.selectAll();
    QTest::keyClicks(&reader, QStringLiteral("A1"));
    QTest::keyClick(&reader, Qt::Key_Return);
    QCOMPARE(desk.bench.work().reader(), std::string("A1"));
    QCOMPARE(desk.bench.work().reading_file(), folder_ / "bubble.reading.json");
  }

  void a_case_list_is_gone_through() {
    driver::copy_samples(folder_, {"short.png", "short.reading.json"});
    std::ofstream(folder_ / "cases.csv") << "case,reading\nK1,bubble.reading.json\nK2,short.reading.json\n";
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_ / "cases.csv"));
    QCOMPARE(column(desk.control<QTableWidget>(QStringLiteral("Films")), 0), (QStringList{"K1", "K2"}));
    desk.window.open_film(1);
    QCOMPARE(desk.bench.drawing().tooth, std::string("13"));
  }

  void the_scale_is_carried_over_from_the_film_that_shows_the_file() {
    driver::copy_samples(folder_ / "tooth", {"postoperative.png", "working-length.png", "working-length.reading.json"});
    const Reading marks = load_reading(driver::samples / "postoperative.reading.json");
    const auto& carried = std::get<CarriedLength>(marks.scale.front());
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_ / "tooth" / "postoperative.png"));
    QVERIFY(!desk.other().isVisible());
    desk.bench.edit(desk::add_scale(desk.bench.drawing(), desk::ScaleDrawn::Kind::carried));
    QVERIFY(desk.window.set_other_film(0, folder_ / "tooth" / "working-length.png"));
    QVERIFY(desk.other().isVisible());
    desk.shortcut(Qt::CTRL | Qt::Key_1);
    for (const Point& landmark : carried.points) desk.click(landmark);
    for (const Point& landmark : carried.from_points) desk.click(desk.other(), landmark);
    const desk::ScaleDrawn& mark = desk.bench.drawing().scale.front();
    QVERIFY(desk::complete(mark));
    QVERIFY(std::abs(mark.from_points.back().y - carried.from_points.back().y) < 1.5);
    desk.button(QStringLiteral("Click along it")).click();
    desk.shortcut(Qt::CTRL | Qt::Key_2);
    for (const Point& point : marks.canals.front().path) desk.click(point);
    desk.shortcut(Qt::SHIFT | Qt::Key_Return);
    desk.click(marks.canals.front().apex);
    QVERIFY(desk.measured());
    QVERIFY2(desk.bench.result().has_value(), desk.bench.refused().text.c_str());
    QCOMPARE(desk.bench.result()->scale.source, std::string("carried-length"));
  }

  void a_film_without_a_reading_gives_no_scale_and_says_what_to_do() {
    Desk desk(folder_, by("A1"));
    QVERIFY(desk.window.open(folder_ / "flush.png"));
    desk.bench.edit(desk::add_scale(desk.bench.drawing(), desk::ScaleDrawn::Kind::carried));
    QVERIFY(!desk.window.set_other_film(0, folder_ / "beyond.png"));
    QVERIFY(told(desk).contains(QStringLiteral("no reading yet")));
  }

 private:
  static window::Opening by(const std::string& reader) {
    window::Opening opening;
    opening.reader = reader;
    return opening;
  }

  static QStringList column(const QTableWidget& list, int column) {
    QStringList all;
    for (int row = 0; row < list.rowCount(); ++row) all << list.item(row, column)->text();
    return all;
  }

  static QString told(const Desk& desk) {
    return desk.window.findChild<QLabel*>(QStringLiteral("told"))->text();
  }

  static bool names(const QString& words) {
    for (const char* name : {"beyond", "bubble", "curved", "flush"})
      if (words.contains(QString::fromUtf8(name))) return true;
    return false;
  }

  static void no_name_in(const QWidget* widget) {
    QStringList words{widget->toolTip(), widget->accessibleName(), widget->accessibleDescription(), widget->windowTitle()};
    if (const auto* label = qobject_cast<const QLabel*>(widget)) words << label->text();
    if (const auto* line = qobject_cast<const QLineEdit*>(widget)) words << line->text();
    if (const auto* button = qobject_cast<const QAbstractButton*>(widget)) words << button->text();
    for (const QString& each : words) QVERIFY2(!names(each), qPrintable(each));
  }

  std::unique_ptr<QTemporaryDir> temporary_;
  fs::path folder_;
};

QTEST_MAIN(ManyFilms)
#include "test_many_films.moc"
