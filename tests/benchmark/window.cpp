// Prints how quickly the window answers: a drag of the apex on a film of 1500 x 2000, the mouse moving 60 times a
// second as a hand does. Not a test: figures to hold beside those of the release before.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <map>
#include <vector>

#include <QApplication>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QMouseEvent>
#include <QTemporaryDir>
#include <QTimer>

#include <canalrule/base/whole_file.hpp>
#include <canalrule/intake/open_film.hpp>
#include <canalrule/phantom/simulate.hpp>
#include <canalrule/record/reading.hpp>

#include <film_families.hpp>
#include <opencv2/core.hpp>

#include "driver.hpp"

namespace {

using namespace canalrule;

constexpr int columns = 1500, rows = 2000;
constexpr int moves = 240;
constexpr double moves_per_second = 60.0;

double quantile(std::vector<double> all, double share) {
  if (all.empty()) return 0.0;
  std::sort(all.begin(), all.end());
  return all[std::min(all.size() - 1, static_cast<std::size_t>(share * static_cast<double>(all.size())))];
}

void print(const char* what, const std::vector<double>& ms) {
  std::printf("%-46s median %7.1f ms   95 %% %7.1f ms   worst %7.1f ms\n", what, quantile(ms, 0.5), quantile(ms, 0.95),
              quantile(ms, 1.0));
}

/// A simulated film with its reading, as large as asked for.
void write_case(const std::filesystem::path& folder) {
  phantom::Description description = families::usual_film(3);
  description.detector.pixel_mm *= static_cast<double>(description.detector.columns) / columns;
  description.detector.columns = columns;
  description.detector.rows = rows;
  phantom::Simulated simulated = phantom::simulate(description);
  cv::Mat grey;
  simulated.film.grey.convertTo(grey, CV_16U);
  write_whole(folder / "large.png", encode_png(grey));
  simulated.reading.image = {"large.png", std::nullopt, std::nullopt, std::nullopt};
  write_whole(folder / "large.reading.json", write_reading(simulated.reading));
}

}  // namespace

int main(int count, char** words) {
  QApplication application(count, words);
  cv::setNumThreads(1);
  const QTemporaryDir temporary;
  const std::filesystem::path folder = temporary.path().toStdString();
  write_case(folder);
  driver::Desk desk(folder);
  QElapsedTimer opening;
  opening.start();
  if (!desk.window.open(folder / "large.reading.json") || !desk.measured()) return 1;
  std::printf("film %d x %d, two cores meant; opened and measured in %lld ms\n", columns, rows, opening.elapsed());

  const std::clock_t cpu = std::clock();
  desk.bench.measure_saved();
  std::printf("one measurement alone: %.0f ms of processor time\n",
              1000.0 * static_cast<double>(std::clock() - cpu) / CLOCKS_PER_SEC);
  window::FilmView& view = desk.film();
  const Point apex = *desk.bench.drawing().canals.front().apex;
  const QPointF start = view.view_port().on_screen(apex);
  std::vector<double> answers, gaps, handling;
  QElapsedTimer clock;
  clock.start();
  const auto now_ms = [&clock] { return static_cast<double>(clock.nsecsElapsed()) / 1e6; };
  std::map<std::uint64_t, double> asked;  // when each edit was made
  double last_answer = 0.0;
  QObject::connect(&desk.bench, &window::Bench::answer_changed, [&] {
    const auto edit = asked.find(desk.bench.answered());
    if (edit == asked.end()) return;
    answers.push_back(now_ms() - edit->second);
    if (last_answer > 0.0) gaps.push_back(now_ms() - last_answer);
    last_answer = now_ms();
  });
  QTest::mousePress(&view, Qt::LeftButton, Qt::NoModifier, start.toPoint());
  const double begun = now_ms();
  double last = begun;
  for (int i = 0; i < moves; ++i) {
    const double due = begun + i * 1000.0 / moves_per_second;
    // Asleep until the next move, as between a mouse's: a busy wait would take a core from the measuring.
    QEventLoop until_due;
    QTimer::singleShot(std::max(0, static_cast<int>(due - now_ms())), Qt::PreciseTimer, &until_due, &QEventLoop::quit);
    until_due.exec();
    const double before = now_ms();
    const QPointF at = start + QPointF(6.0 + (i % 24) * 0.5, (i % 40) * 0.25);
    QMouseEvent move(QEvent::MouseMove, at, view.mapToGlobal(at), Qt::NoButton, Qt::LeftButton, Qt::NoModifier);
    QApplication::sendEvent(&view, &move);
    asked[desk.bench.asked()] = before;
    view.repaint();
    handling.push_back(now_ms() - before);
    last = now_ms();
  }
  const double seconds = (last - begun) / 1000.0;
  QTest::mouseRelease(&view, Qt::LeftButton, Qt::NoModifier, start.toPoint());
  desk.measured();
  std::printf("%d moves in %.2f s; %zu new answers: %.1f a second\n", moves, seconds, answers.size(),
              static_cast<double>(answers.size()) / seconds);
  print("from a move to its figures", answers);
  print("between two new answers", gaps);
  print("the window busy with one move, drawing included", handling);
}
