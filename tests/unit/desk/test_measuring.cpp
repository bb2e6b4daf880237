// The answer while drawing is what `canalrule measure` gives for the reading saved.
#include <canalrule/desk/measuring.hpp>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <mutex>

#include <doctest/doctest.h>
#include <opencv2/core.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/desk/steps.hpp>
#include <canalrule/desk/unrolled.hpp>
#include <canalrule/desk/work.hpp>

#include "sample_case.hpp"

using namespace canalrule;
using namespace canalrule::desk;
using desk_test::SampleFolder;

namespace fs = std::filesystem;

namespace {

std::shared_ptr<const Criteria> default_criteria() {
  return std::make_shared<const Criteria>(
      load_criteria(fs::path(CANALRULE_SOURCE_DIR) / "docs" / "criteria" / "default.json"));
}

std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// What the program writes for a reading on the disk.
std::string measured_by_program(const fs::path& reading) {
  const fs::path out = reading.parent_path() / "out.result.json";
  const std::string command = std::string("'") + CANALRULE_PROGRAM + "' measure '" + reading.string() +
                              "' --output '" + out.string() + "' > /dev/null";
  REQUIRE(std::system(command.c_str()) == 0);
  std::string text = bytes_of(out);
  fs::remove(out);
  return text;
}

std::string measured_while_drawing(Work& work) {
  const auto request = work.request(default_criteria());
  REQUIRE(request);
  const MeasureAnswer answer = measure_now(*request);
  REQUIRE(answer.result);
  CHECK(answer.revision == work.revision());
  return write_result(*answer.result);
}

}  // namespace

TEST_CASE("the figures while drawing are the bytes that the program writes for the saved reading") {
  const SampleFolder folder;
  folder.film("overlap.png");
  const fs::path reading = folder.reading("overlap");
  Work work = Work::open(reading, {});
  CHECK(measured_while_drawing(work) == measured_by_program(reading));  // as it came

  work.apply(MovePoint{{PointPlace::Of::canal, 0, 2}, {276.1234567890123, 466.9876}});
  work.apply(SetNote{"mesial canals cross"});
  const std::string drawn = measured_while_drawing(work);
  REQUIRE(work.save().saved == Saved::as_reading);
  CHECK(bytes_of(reading) == work.reading_text());
  CHECK(drawn == measured_by_program(reading));

  // One canal more, unfinished: the others are measured.
  work.apply(add_canal(work.drawing(), "DL"));
  const std::string with_unfinished = measured_while_drawing(work);
  work.save();
  CHECK(with_unfinished == measured_by_program(reading));
}

TEST_CASE("a scale that is carried over, on a reading that begins from the film alone") {
  const SampleFolder folder;
  const fs::path film = folder.film("postoperative.png");
  folder.film("working-length.png");
  const fs::path from = folder.reading("working-length");
  Saving saving;
  saving.reader = "B2";
  Work work = Work::open(film, saving);
  CHECK_FALSE(work.request(nullptr));
  work.apply(add_scale(work.drawing(), ScaleDrawn::Kind::carried));
  work.apply(InsertPoint{{PointPlace::Of::scale, 0, 0}, {300.2, 95.5}});
  work.apply(InsertPoint{{PointPlace::Of::scale, 0, 1}, {309.3, 860.6}});
  work.apply(set_scale_from(work.drawing(), 0, from.string(), {{248.4, 114.4}, {309.7, 860.2}}));
  work.apply(add_canal(work.drawing(), "1"));
  work.apply(
      set_line(work.drawing(), 0, {{320, 402}, {304, 584}, {299, 784}, {309, 861}}, LineSource::drawn));
  work.apply(MovePoint{{PointPlace::Of::apex, 0, 0}, {310, 860}});
  const std::string drawn = measured_while_drawing(work);
  work.save();
  CHECK(bytes_of(work.reading_file()).find("\"working-length.reading.json\"") != std::string::npos);
  CHECK(drawn == measured_by_program(work.reading_file()));

  // The other film's reading is read again when it changes, and its loss is said.
  fs::remove(from);
  const MeasureAnswer gone = measure_now(*work.request(nullptr));
  CHECK_FALSE(gone.result);
  CHECK(plain(gone.refused).find("working-length.reading.json") != std::string::npos);
}

TEST_CASE("a DICOM film's own spacing serves where nothing else gives the scale") {
  const SampleFolder folder;
  folder.film("dark.dcm");
  Work work = Work::open(folder.reading("dark"), {});
  work.apply(use_film_spacing());
  work.apply(MovePoint{{PointPlace::Of::apex, 0, 0}, *work.drawing().canals[0].apex});
  REQUIRE(work.film().spacing);
  const auto request = work.request(default_criteria());
  REQUIRE(request);
  const MeasureAnswer answer = measure_now(*request);
  REQUIRE(answer.result);
  CHECK(answer.result->scale.source == "dicom");
  work.save();
  CHECK(write_result(*answer.result) == measured_by_program(work.reading_file()));
}

TEST_CASE("a mark far off the film is refused in words, not thrown") {
  const SampleFolder folder;
  folder.film("short.png");
  Work work = Work::open(folder.reading("short"), {});
  work.apply(MovePoint{{PointPlace::Of::apex, 0, 0}, {5000, 5000}});
  const MeasureAnswer answer = measure_now(*work.request(default_criteria()));
  CHECK_FALSE(answer.result);
  CHECK(plain(answer.refused).find("outside the film") != std::string::npos);
}

TEST_CASE("a request shares the film's pixels") {
  const SampleFolder folder;
  folder.film("short.png");
  Work work = Work::open(folder.reading("short"), {});
  const auto request = work.request(nullptr);
  REQUIRE(request);
  CHECK(request->film->grey.data == work.film().grey.data);
  const Case opened = open_case(request->reading_file, request->reading_text, *request->film, {});
  CHECK(opened.film.grey.data == work.film().grey.data);
  CHECK(request->whole);  // looked at once, on opening
}

TEST_CASE("the measuring threads answer the newest request, newer after older, and drop those it replaced") {
  const SampleFolder folder;
  folder.film("short.png");
  Work work = Work::open(folder.reading("short"), {});
  std::mutex mutex;
  std::condition_variable came;
  std::vector<std::uint64_t> answered;
  {
    MeasuringThreads threads([&](const MeasureAnswer& answer) {
      const std::lock_guard lock(mutex);
      REQUIRE(answer.result);
      answered.push_back(answer.revision);
      came.notify_one();
    });
    for (int i = 0; i < 20; ++i) {
      work.apply(MovePoint{{PointPlace::Of::canal, 0, 1}, {300.0 + 0.1 * i, 420.0}});
      threads.ask(*work.request(nullptr));
    }
    std::unique_lock lock(mutex);
    REQUIRE(came.wait_for(lock, std::chrono::seconds(60),
                          [&] { return !answered.empty() && answered.back() == work.revision(); }));
  }
  CHECK(answered.size() < 20);
  CHECK(std::is_sorted(answered.begin(), answered.end()));
}

TEST_CASE("answers after one another are those of a first measurement, whether the scale stays or moves") {
  const SampleFolder folder;
  folder.film("short.png");
  Work work = Work::open(folder.reading("short"), {});
  std::mutex mutex;
  std::condition_variable came;
  MeasureAnswer newest;
  MeasuringThreads threads([&](MeasureAnswer answer) {
    const std::lock_guard lock(mutex);
    newest = std::move(answer);
    came.notify_one();
  });
  const auto answered = [&] {
    threads.ask(*work.request(nullptr));
    std::unique_lock lock(mutex);
    REQUIRE(came.wait_for(lock, std::chrono::seconds(60), [&] { return newest.revision == work.revision(); }));
    REQUIRE(newest.result);
    return *newest.result;
  };
  const auto as_measured_anew = [&] {
    return write_result(answered()) == write_result(*measure_now(*work.request(nullptr)).result);
  };
  work.apply(MovePoint{{PointPlace::Of::canal, 0, 1}, {300.0, 419.0}});
  const double first = answered().scale.mm_per_pixel;
  work.apply(MovePoint{{PointPlace::Of::canal, 0, 1}, {300.0, 420.0}});
  CHECK(as_measured_anew());
  CHECK(newest.result->scale.mm_per_pixel == first);
  std::vector<ScaleDrawn> scale = work.drawing().scale;
  scale.front().size_mm = 1.02 * *scale.front().size_mm;
  work.apply(SetScale{scale});
  CHECK(as_measured_anew());
  CHECK(newest.result->scale.mm_per_pixel > 1.01 * first);
}

TEST_CASE("the unrolled canal and the film show each other's places") {
  const SampleFolder folder;
  folder.film("bubble.png");
  Work work = Work::open(folder.reading("bubble"), {});
  const MeasureAnswer answer = measure_now(*work.request(nullptr));
  REQUIRE(answer.result);
  const CanalResult& canal = answer.result->canals.front();
  const auto unrolled = UnrolledCanal::of(canal, answer.result->scale);
  REQUIRE(unrolled);
  REQUIRE(canal.terminus);
  CHECK(unrolled->first_mm() < std::min(0.0, canal.terminus->to_apex_mm));
  CHECK(unrolled->last_mm() > canal.coronal_level_mm->value);
  // What the result says of places, read off the unrolled canal. 0.05 mm: the line there is a spline through
  // points every 0.25 mm of the one that was measured on.
  for (const CentreAt& at : canal.centre_line)
    CHECK(std::abs(unrolled->of_film(at.position).at_mm - at.at_mm) < 0.05);
  for (const double at_mm : {unrolled->first_mm(), 0.0, 2.5, unrolled->last_mm()})
    for (const double across_mm : {-0.3, 0.0, 0.4}) {
      const UnrolledCanal::Place place = unrolled->of_film(unrolled->on_film({at_mm, across_mm}));
      CHECK(place.at_mm == doctest::Approx(at_mm).epsilon(0.002));
      CHECK(place.across_mm == doctest::Approx(across_mm).epsilon(0.002));
    }
  const Tone tone = automatic_tone(work.film(), work.drawing());
  const cv::Mat picture = unrolled->picture(work.film(), tone, 20.0);
  CHECK(std::abs(picture.rows - (unrolled->last_mm() - unrolled->first_mm()) * 20.0) <= 1.0);
  CHECK(std::abs(picture.cols - 2.0 * unrolled->half_width_mm() * 20.0) <= 1.0);
  // The fill is bright along the middle, the bone beside it is not.
  const int row = static_cast<int>((unrolled->last_mm() - canal.coronal_level_mm->value * 0.5) * 20.0);
  CHECK(picture.at<std::uint8_t>(row, picture.cols / 2) > 40 + picture.at<std::uint8_t>(row, 2));
}
