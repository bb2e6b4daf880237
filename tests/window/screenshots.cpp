// Makes the pictures of the manual: the window at each stage of the work on the sample films. Its argument is the
// folder to write to; QT_SCALE_FACTOR gives other scalings (tests/window/screenshots calls it).
#include <cstdio>
#include <functional>

#include <QAbstractButton>
#include <QApplication>
#include <QComboBox>
#include <QImage>
#include <QLineEdit>
#include <QTemporaryDir>

#include "driver.hpp"
#include "tooth_chart.hpp"

namespace {

using driver::Desk;
namespace fs = std::filesystem;

class Camera {
 public:
  explicit Camera(fs::path folder) : folder_(std::move(folder)) {}

  void take(Desk& desk, const char* name) const {
    desk.measured();
    QTest::qWait(600);  // until the reading is saved
    save(desk.window.grab().toImage(), name);
  }

  void save(const QImage& image, const char* name) const {
    const fs::path file = folder_ / (std::string(name) + ".png");
    if (!image.save(QString::fromStdString(file.string()), "PNG")) qFatal("can't write %s", file.c_str());
    std::printf("%s\n", file.c_str());
  }

 private:
  fs::path folder_;
};

/// The first film, from opening it to the answer.
void one_film(const Camera& camera, const fs::path& folder) {
  driver::copy_samples(folder, {"backfill-gap.dcm"});
  const canalrule::Reading marks = canalrule::load_reading(driver::samples / "backfill-gap.reading.json");
  const auto& length = std::get<canalrule::KnownLength>(marks.scale.front());
  const canalrule::CanalMarks& canal = marks.canals.front();
  Desk desk(folder);
  camera.take(desk, "window-empty");

  desk.window.open(folder / "backfill-gap.dcm");
  desk.button(desk.window.tr("Go on")).click();
  desk.click(length.points.front());
  camera.take(desk, "window-scale");
  desk.click(length.points.back());
  auto& known = desk.control<QComboBox>(QStringLiteral("Known length in mm"));
  known.setFocus();
  known.lineEdit()->selectAll();
  QTest::keyClicks(known.lineEdit(), QStringLiteral("15"));
  QTest::keyClick(known.lineEdit(), Qt::Key_Return);
  desk.button(QStringLiteral("Finish")).click();
  desk.shortcut(Qt::CTRL | Qt::Key_2);
  desk.click(canal.path.front());
  desk.click(canal.apex);
  camera.take(desk, "window-proposal");
  desk.shortcut(Qt::CTRL | Qt::Key_Return);
  desk.measured();
  desk.film().zoom_in();
  desk.film().zoom_in();
  QTest::mouseMove(&desk.film(), desk.place(desk.film(), canal.path[canal.path.size() / 2]));
  camera.take(desk, "window-answer");
}

void carried_scale(const Camera& camera, const fs::path& folder) {
  driver::copy_samples(folder, {"postoperative.png", "postoperative.reading.json", "working-length.png",
                                "working-length.reading.json"});
  Desk desk(folder);
  desk.window.open(folder / "postoperative.reading.json");
  camera.take(desk, "window-carried-scale");
}

void many_films(const Camera& camera, const fs::path& folder) {
  driver::copy_samples(folder, {"short.png", "short.reading.json", "flush.png", "beyond.png", "bubble.png",
                                "bubble.reading.json", "overlap.png", "overlap.reading.json", "curved.dcm"});
  canalrule::window::Opening opening;
  opening.reader = "A1";
  Desk desk(folder, opening);
  desk.window.open(folder);
  desk.window.open_film(4);
  camera.take(desk, "window-many-films");
}

void chart(const Camera& camera) {
  canalrule::window::ToothChart chart;
  chart.show();
  chart.show_tooth(QStringLiteral("36"));
  QTest::qWait(50);
  camera.save(chart.grab().toImage(), "window-tooth-chart");
}

}  // namespace

int main(int count, char** words) {
  if (count != 2) {
    std::fputs("usage: window_screenshots FOLDER\n", stderr);
    return 2;
  }
  QApplication application(count, words);
  const QTemporaryDir temporary;
  const fs::path folder = temporary.path().toStdString();
  const Camera camera(words[1]);
  one_film(camera, folder / "one");
  carried_scale(camera, folder / "carried");
  many_films(camera, folder / "many");
  chart(camera);
}
