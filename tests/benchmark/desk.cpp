// Prints how soon the new figures follow an edit, and what of that time isn't the measuring itself. A
// program, not a test: the tests hold what is measured, this shows how fast on the machine at hand.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include <opencv2/core/utility.hpp>
#include <opencv2/imgproc.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/cases/open_case.hpp>
#include <canalrule/desk/proposal.hpp>
#include <canalrule/desk/unrolled.hpp>
#include <canalrule/desk/view.hpp>
#include <canalrule/desk/work.hpp>
#include <canalrule/intake/open_film.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>

namespace {

using namespace canalrule;
using Clock = std::chrono::steady_clock;

double milliseconds(const std::function<void()>& part) {
  const auto start = Clock::now();
  part();
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

struct Times {
  const char* what;
  std::vector<double> ms = {};

  double at(double share) {
    std::sort(ms.begin(), ms.end());
    return ms[static_cast<std::size_t>(share * static_cast<double>(ms.size() - 1))];
  }
  void print() { std::printf("  %-58s median %8.3f ms   95 %% %8.3f ms\n", what, at(0.5), at(0.95)); }
};

/// The film of a reading on a canvas of 1500 x 2000 pixels, so that the whole film is as large as a sensor's.
std::filesystem::path enlarged(const std::filesystem::path& reading_file,
                               const std::filesystem::path& folder) {
  Reading reading = load_reading(reading_file);
  const Film film = open_film(reading_file.parent_path() / reading.image.file);
  const double times = std::min(1500.0 / film.grey.cols, 2000.0 / film.grey.rows);
  cv::Mat grey, stored, whole;
  cv::resize(film.grey, grey, {}, times, times, cv::INTER_CUBIC);
  grey.convertTo(stored, CV_16U, 65535.0 / std::max(film.highest_grey, 1.0));
  cv::copyMakeBorder(stored, whole, 0, 2000 - stored.rows, 0, 1500 - stored.cols, cv::BORDER_REFLECT);
  const auto moved = [&](Polyline& points) {
    for (Point& p : points) p = {p.x * times, p.y * times};
  };
  for (ScaleMark& mark : reading.scale) std::visit([&](auto& m) { moved(m.points); }, mark);
  for (CanalMarks& canal : reading.canals) {
    moved(canal.path);
    canal.apex = {canal.apex.x * times, canal.apex.y * times};
  }
  reading.image = {"film.png", {}, {}, {}};
  reading.document = nullptr;
  write_whole(folder / "film.png", encode_png(whole));
  write_whole(folder / "film.reading.json", write_reading(reading));
  return folder / "film.reading.json";
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3 && argc != 4) {
    std::puts(
        "usage: desk READING CRITERIA [EDITS]\n"
        "  READING marks a known length; its film is enlarged to 1500 x 2000 pixels");
    return 2;
  }
  cv::setNumThreads(1);
  const int edits = argc > 3 ? std::max(1, std::atoi(argv[3])) : 50;
  const std::filesystem::path folder = std::filesystem::temp_directory_path() / "canalrule-desk-benchmark";
  std::filesystem::create_directories(folder);
  try {
    const auto criteria = std::make_shared<const Criteria>(load_criteria(argv[2]));
    desk::Work work = desk::Work::open(enlarged(argv[1], folder), {});
    Times edit{"edit, with its line in the journal"}, snapshot{"snapshot of the drawing"},
        opening{"reading's text to a case, film at hand"}, measuring{"measure()"}, judging{"judge()"},
        all{"edit to figures"}, unrolling{"unrolled canal, picture of 20 px per mm"},
        tone{"film in another tone"}, proposing{"proposed line"},
        writing{"result as JSON (only when it is saved)"}, saving{"reading saved"};
    const Point at = work.drawing().canals[0].path[1];
    Result result;
    for (int i = 0; i < edits; ++i) {
      std::optional<desk::MeasureRequest> request;
      std::optional<Case> opened;
      edit.ms.push_back(milliseconds([&] {
        work.apply(desk::MovePoint{{desk::PointPlace::Of::canal, 0, 1}, {at.x + 0.1 * i, at.y - 0.07 * i}});
      }));
      snapshot.ms.push_back(milliseconds([&] { request = work.request(criteria); }));
      opening.ms.push_back(milliseconds([&] {
        opened = open_case(request->reading_file, request->reading_text, *request->film, request->carried);
      }));
      opened->whole = request->whole;
      measuring.ms.push_back(milliseconds([&] { result = measure(*opened); }));
      judging.ms.push_back(milliseconds([&] { result.judged = judge(result, *criteria); }));
      all.ms.push_back(edit.ms.back() + snapshot.ms.back() + opening.ms.back() + measuring.ms.back() +
                       judging.ms.back());
    }
    for (int i = 0; i < 10; ++i) {
      const desk::CanalDrawn& canal = work.drawing().canals[0];
      const auto unrolled = desk::UnrolledCanal::of(result.canals[0], result.scale);
      const desk::Tone seen = desk::automatic_tone(work.film(), work.drawing());
      unrolling.ms.push_back(milliseconds([&] { (void)unrolled->picture(work.film(), seen, 20.0); }));
      tone.ms.push_back(milliseconds([&] { (void)desk::shown_picture(work.film(), seen); }));
      proposing.ms.push_back(
          milliseconds([&] { (void)desk::propose_line(work.film(), {}, canal.path.front(), *canal.apex); }));
      writing.ms.push_back(milliseconds([&] { (void)write_result(result); }));
      work.apply(desk::SetNote{std::to_string(i)});
      saving.ms.push_back(milliseconds([&] { work.save(); }));
    }
    std::printf("%d x %d pixels, %zu canals, %d edits\n", work.film().grey.cols, work.film().grey.rows,
                result.canals.size(), edits);
    for (Times* times : {&edit, &snapshot, &opening, &measuring, &judging, &all}) times->print();
    const double beside = edit.at(0.5) + snapshot.at(0.5) + opening.at(0.5) + judging.at(0.5);
    std::printf("  not measure(): %.3f ms, %.1f %%; %.1f updates a second\n", beside,
                100.0 * beside / all.at(0.5), 1000.0 / all.at(0.5));
    for (Times* times : {&unrolling, &tone, &proposing, &writing, &saving}) times->print();
  } catch (const Refusal& refusal) {
    std::fprintf(stderr, "%s\n", refusal.what());
    return 3;
  }
  std::filesystem::remove_all(folder);
  return 0;
}
