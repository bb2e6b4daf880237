// Pictures, pages, files and the clipboard.
#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QImage>
#include <QLabel>
#include <QProcess>
#include <QTemporaryDir>

#include <canalrule/report/report.hpp>

#include "driver.hpp"

using namespace canalrule;
using driver::Desk;
namespace fs = std::filesystem;

namespace {

QString output_of(const QString& program, const QStringList& arguments) {
  QProcess process;
  process.start(program, arguments);
  if (!process.waitForFinished(60000) || process.exitCode() != 0) return QString();
  return QString::fromUtf8(process.readAllStandardOutput());
}

QString path(const fs::path& file) { return QString::fromStdString(file.string()); }

}  // namespace

class GettingOut : public QObject {
  Q_OBJECT

 private Q_SLOTS:
  void init() {
    temporary_ = std::make_unique<QTemporaryDir>();
    folder_ = temporary_->path().toStdString();
    driver::copy_samples(folder_, {"bubble.png", "bubble.reading.json", "short.png", "short.reading.json", "flush.png"});
    window::Opening opening;
    opening.reader = "A1";
    desk_ = std::make_unique<Desk>(folder_, opening);
    QVERIFY(desk_->window.open(folder_ / "bubble.reading.json"));
    QVERIFY(desk_->measured());
  }

  void cleanup() {
    desk_.reset();
    temporary_.reset();
  }

  void a_page_is_a4_vector_and_without_identity_unless_asked() {
    const fs::path page = folder_ / "page.pdf";
    QVERIFY(desk_->window.save_report(page));
    const QString facts = output_of(QStringLiteral("pdfinfo"), {path(page)});
    QVERIFY2(facts.contains(QRegularExpression(QStringLiteral("Pages: +1\n"))), qPrintable(facts));
    QVERIFY2(facts.contains(QStringLiteral("(A4)")), qPrintable(facts));
    const QString words = output_of(QStringLiteral("pdftotext"), {QStringLiteral("-layout"), path(page), QStringLiteral("-")});
    for (const char* expected : {"tooth 35", "Terminus", "within", "Filled length", "no diagnosis"})
      QVERIFY2(words.contains(QString::fromUtf8(expected)), expected);  // letters, not a picture of letters
    QVERIFY(!words.contains(QStringLiteral("bubble")));
    QVERIFY(!words.contains(QStringLiteral("A1")));
    const QString images = output_of(QStringLiteral("pdfimages"), {QStringLiteral("-list"), path(page)});
    QVERIFY2(images.count(QLatin1Char('\n')) <= 4, qPrintable(images));  // head, rule, the film and its overview

    ask_for_names();
    QVERIFY(desk_->window.save_report(page));
    const QString named = output_of(QStringLiteral("pdftotext"), {path(page), QStringLiteral("-")});
    QVERIFY(named.contains(QStringLiteral("bubble.png")));
    QVERIFY(named.contains(QStringLiteral("A1")));
  }

  void all_films_that_were_read_get_a_page_each() {
    QVERIFY(desk_->window.open(folder_));
    QCOMPARE(desk_->window.session()->films.size(), std::size_t{3});
    const fs::path pages = folder_ / "all.pdf";
    desk_->window.save_all_reports(pages);
    QVERIFY(QTest::qWaitFor([&] { return fs::exists(pages); }, 60000));
    const QString facts = output_of(QStringLiteral("pdfinfo"), {path(pages)});
    QVERIFY2(facts.contains(QRegularExpression(QStringLiteral("Pages: +2\n"))), qPrintable(facts));
  }

  void pictures_and_report_are_those_of_measure() {
    ask_for_names();
    QVERIFY(desk_->window.save_picture(folder_ / "window.png"));
    QVERIFY(desk_->window.save_picture(folder_ / "window.svg"));
    QVERIFY(desk_->window.save_report(folder_ / "window.txt"));
    for (const char* ending : {"png", "svg"}) {
      const fs::path picture = folder_ / ("measure." + std::string(ending));
      const QString printed = output_of(QStringLiteral(CANALRULE_PROGRAM),
                                        {QStringLiteral("measure"), path(folder_ / "bubble.reading.json"),
                                         QStringLiteral("--picture"), path(picture)});
      QCOMPARE(printed.toStdString(), driver::content(folder_ / "window.txt"));
      QCOMPARE(driver::content(folder_ / ("window." + std::string(ending))), driver::content(picture));
    }
  }

  void a_picture_hides_names_unless_asked() {
    QVERIFY(desk_->window.save_picture(folder_ / "window.svg"));
    const std::string svg = driver::content(folder_ / "window.svg");
    QVERIFY(svg.find("bubble") == std::string::npos);
    QVERIFY(svg.find("tooth 35") != std::string::npos);
  }

  void picture_and_report_go_to_the_clipboard() {
    desk_->shortcut(Qt::CTRL | Qt::SHIFT | Qt::Key_C);
    QVERIFY(QApplication::clipboard()->image().width() > 1000);
    desk_->shortcut(Qt::CTRL | Qt::ALT | Qt::Key_C);
    QVERIFY(QApplication::clipboard()->text().contains(QStringLiteral("Terminus")));
    QVERIFY(!QApplication::clipboard()->text().contains(QStringLiteral("bubble.png")));
  }

  void a_copy_of_the_reading_is_the_reading() {
    QVERIFY(desk_->window.save_reading_copy(folder_ / "copy.reading.json"));
    QCOMPARE(driver::content(folder_ / "copy.reading.json"), driver::content(folder_ / "bubble.reading.json"));
  }

  void what_cannot_be_written_is_said() {
    QVERIFY(!desk_->window.save_result(folder_ / "no such folder" / "a.result.json"));
    QVERIFY(desk_->window.findChild<QLabel*>(QStringLiteral("told"))->text().contains(QStringLiteral("no such folder")));
    desk_->window.open(folder_ / "flush.png");
    QVERIFY(!desk_->window.save_report(folder_ / "nothing.pdf"));
    QVERIFY(!fs::exists(folder_ / "nothing.pdf"));
  }

 private:
  void ask_for_names() {
    for (QAction* action : desk_->window.findChildren<QAction*>())
      if (action->isCheckable() && action->text().contains(QStringLiteral("Names of file"))) action->setChecked(true);
  }

  std::unique_ptr<QTemporaryDir> temporary_;
  fs::path folder_;
  std::unique_ptr<Desk> desk_;
};

QTEST_MAIN(GettingOut)
#include "test_getting_out.moc"
