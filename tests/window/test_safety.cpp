// Nothing is lost: bad files, folders that can't be written to, a killed process, a film that has changed since.
#include <QAbstractButton>
#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QProcess>
#include <QTemporaryDir>

#include <cstdio>
#include <fstream>

#include "driver.hpp"

using namespace canalrule;
using driver::Desk;
namespace fs = std::filesystem;

namespace {

constexpr const char* sample = "curved.dcm";  // has a scale of its own
const Point orifice{330.0, 260.0}, middle{300.0, 420.0}, apex{330.0, 700.0};

/// Two points of a canal by mouse: an unfinished drawing.
void scribble(Desk& desk) {
  desk.button(QStringLiteral("Click along it")).click();
  desk.shortcut(Qt::CTRL | Qt::Key_2);
  desk.click(orifice);
  desk.click(middle);
}

void draw_canal(Desk& desk) {
  scribble(desk);
  desk.shortcut(Qt::SHIFT | Qt::Key_Return);
  desk.click(apex);
}

}  // namespace

class Safety : public QObject {
  Q_OBJECT

 private Q_SLOTS:
  void init() {
    temporary_ = std::make_unique<QTemporaryDir>();
    folder_ = temporary_->path().toStdString();
    driver::copy_samples(folder_, {sample, "short.png", "short.reading.json"});
  }

  void cleanup() { temporary_.reset(); }

  void a_bad_file_is_refused_in_words_and_the_film_before_stays() {
    Desk desk(folder_);
    QVERIFY(desk.window.open(folder_ / sample));
    draw_canal(desk);
    const desk::Drawing drawn = desk.bench.drawing();
    std::ofstream(folder_ / "damaged.png", std::ios::binary) << "\x89PNG\r\n\x1a\n and then nothing of use";
    std::ofstream(folder_ / "other.txt") << "not a film";
    for (const char* bad : {"other.txt", "missing.png", "damaged.png"}) {
      desk.window.open(folder_ / bad);
      QVERIFY2(told(desk).contains(QString::fromUtf8(bad)), qPrintable(told(desk)));
    }
    QVERIFY(desk.window.open(folder_ / sample));
    QCOMPARE(desk.bench.drawing(), drawn);
  }

  void a_folder_that_cannot_be_written_to_loses_nothing() {
    // A plain file where the folder should be: can't be written to by anybody, root included.
    std::ofstream(folder_ / "occupied") << "a file";
    window::Opening opening;
    opening.readings = folder_ / "occupied" / "readings";
    desk::Drawing drawn;
    {
      Desk desk(folder_, opening);
      QVERIFY(desk.window.open(folder_ / sample));
      draw_canal(desk);
      drawn = desk.bench.drawing();
      desk.bench.save();
      QCOMPARE(desk.bench.work().save_state().saved, desk::Saved::in_spare_journal);
      QVERIFY2(told(desk).contains(QStringLiteral("spare")), qPrintable(told(desk)));
      QCOMPARE(desk.control<QLabel>(QStringLiteral("How the marks are kept")).text(),
               QStringLiteral("Not saved as a reading"));
      QVERIFY(desk.measured());
      QVERIFY(desk.bench.result().has_value());  // the answer is there all the same
      QVERIFY(desk.window.close());
    }
    {
      Desk desk(folder_, opening);
      QVERIFY(desk.window.open(folder_ / sample));
      QCOMPARE(desk.bench.drawing(), drawn);
      QVERIFY2(told(desk).contains(QStringLiteral("recovered")), qPrintable(told(desk)));
      fs::create_directories(folder_ / "elsewhere");
      desk.bench.save_in(folder_ / "elsewhere");
      QCOMPARE(desk.bench.work().save_state().saved, desk::Saved::as_reading);
      QVERIFY(fs::exists(folder_ / "elsewhere" / "curved.reading.json"));
    }
  }

  void what_a_killed_process_had_drawn_is_recovered() {
    QProcess victim;
    victim.setProcessChannelMode(QProcess::ForwardedErrorChannel);
    victim.start(QCoreApplication::applicationFilePath(),
                 {QStringLiteral("--scribble"), QString::fromStdString(folder_.string())});
    QVERIFY(victim.waitForStarted());
    QVERIFY(victim.waitForReadyRead(60000));
    QCOMPARE(victim.readAllStandardOutput().trimmed(), QByteArray("drawn"));
    victim.kill();
    QVERIFY(victim.waitForFinished());
    QCOMPARE(victim.exitStatus(), QProcess::CrashExit);
    QVERIFY(!fs::exists(folder_ / "curved.reading.json"));  // no apex yet: no reading
    Desk desk(folder_);
    QVERIFY(desk.window.open(folder_ / sample));
    QCOMPARE(desk.bench.drawing().canals.size(), std::size_t{1});
    QCOMPARE(desk.bench.drawing().canals.front().path.size(), std::size_t{2});
    QVERIFY2(told(desk).contains(QStringLiteral("recovered")), qPrintable(told(desk)));
    desk.click(apex);  // goes on where it stopped: the third point of the line
    QCOMPARE(desk.bench.drawing().canals.front().path.size(), std::size_t{2});
  }

  void closing_keeps_unfinished_marks_and_what_is_being_typed() {
    desk::Drawing drawn;
    {
      Desk desk(folder_);
      QVERIFY(desk.window.open(folder_ / sample));
      scribble(desk);
      auto& note = desk.control<QLineEdit>(QStringLiteral("Note on this film"));
      note.setFocus();
      QTest::keyClicks(&note, QStringLiteral("seen twice"));
      QVERIFY(desk.window.close());
    }
    Desk desk(folder_);
    QVERIFY(desk.window.open(folder_ / sample));
    QCOMPARE(desk.bench.drawing().canals.front().path.size(), std::size_t{2});
    QCOMPARE(desk.bench.drawing().note, std::string("seen twice"));
  }

  void marks_of_a_film_that_has_changed_are_taken_over_on_demand_only() {
    {
      Desk desk(folder_);
      QVERIFY(desk.window.open(folder_ / sample));
      draw_canal(desk);
      QVERIFY(desk.window.close());
    }
    QVERIFY(fs::exists(folder_ / "curved.reading.json"));
    const std::string reading = driver::content(folder_ / "curved.reading.json");
    fs::copy_file(driver::samples / "backfill-gap.dcm", folder_ / sample, fs::copy_options::overwrite_existing);
    Desk desk(folder_);
    QVERIFY(desk.window.open(folder_ / sample));
    QVERIFY(desk.bench.drawing().canals.empty());
    QVERIFY2(told(desk).contains(QStringLiteral("has changed")), qPrintable(told(desk)));
    QCOMPARE(driver::content(folder_ / "curved.reading.json"), reading);
    desk.button(QStringLiteral("Take these marks over")).click();
    QCOMPARE(desk.bench.drawing().canals.size(), std::size_t{1});
    desk.shortcut(QKeySequence::Undo);
    QVERIFY(desk.bench.drawing().canals.empty());
    QCOMPARE(driver::content(folder_ / "curved.reading.json"), reading);
  }

  void the_film_itself_is_never_written_to() {
    const std::string before = driver::content(folder_ / sample);
    Desk desk(folder_);
    QVERIFY(desk.window.open(folder_ / sample));
    draw_canal(desk);
    desk.film().invert();
    QVERIFY(desk.window.close());
    QCOMPARE(driver::content(folder_ / sample), before);
  }

 private:
  static QString told(const Desk& desk) {
    QLabel* label = desk.window.findChild<QLabel*>(QStringLiteral("told"));
    return label->isVisible() ? label->text() : QString();
  }

  std::unique_ptr<QTemporaryDir> temporary_;
  fs::path folder_;
};

int main(int count, char** words) {
  QApplication application(count, words);
  if (count == 3 && QByteArray(words[1]) == "--scribble") {
    const fs::path folder = words[2];
    Desk desk(folder);
    desk.window.open(folder / sample);
    scribble(desk);
    std::puts("drawn");
    std::fflush(stdout);
    return QApplication::exec();
  }
  Safety safety;
  return QTest::qExec(&safety, count, words);
}

#include "test_safety.moc"
