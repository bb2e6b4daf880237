#pragma once

#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <canalrule/cases/open_case.hpp>
#include <canalrule/desk/sentence.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

/// The answer while drawing: the call that `canalrule measure` makes, on a snapshot of the drawing.
namespace canalrule::desk {

/// A snapshot: everything that the measuring needs, shared or copied, so that another thread may use it.
struct MeasureRequest {
  std::uint64_t revision = 0;
  std::string reading_text;            ///< the bytes of the saved reading
  std::filesystem::path reading_file;  ///< where they are, or will be, saved
  std::shared_ptr<const Film> film;
  std::optional<WholeFilm> whole;  ///< of the film; missing: looked at again
  std::vector<CarriedFrom> carried;
  std::shared_ptr<const Criteria> criteria;  ///< may be null: not judged
  Sentence refused;                          ///< why it can't be measured, where that is known already
};

struct MeasureAnswer {
  std::uint64_t revision = 0;
  std::optional<Result> result;  ///< nothing where the reading was refused
  Sentence refused;              ///< then why
};

/// Measures and judges. write_result(*answer.result) gives the bytes that `canalrule measure READING
/// --output` writes for the same reading saved, with the same criteria.
MeasureAnswer measure_now(const MeasureRequest& request);

/// Readings that scales are carried over from, read once and again only when their file has changed, so that
/// no film is decoded at each drag.
class CarriedSources {
 public:
  /// As open_case's; refuses as it does.
  std::vector<CarriedFrom> of(const Reading& reading, const std::filesystem::path& reading_file);

 private:
  struct Source {
    std::filesystem::path file;
    std::filesystem::file_time_type written;
    std::uintmax_t bytes = 0;
    CarriedFrom carried;
  };
  std::vector<Source> sources_;
};

/// Threads that measure the newest request: one that waits is replaced by a newer one. Two, where the machine
/// has as many cores: while one measures, the other already takes what the hand has done since.
class MeasuringThreads {
 public:
  /// `done` is called on those threads, one at a time, for what was measured, newer after older: what is
  /// overtaken is dropped.
  explicit MeasuringThreads(std::function<void(MeasureAnswer)> done);
  ~MeasuringThreads();  ///< waits for the measurements under way; one that waits is dropped
  MeasuringThreads(const MeasuringThreads&) = delete;
  MeasuringThreads& operator=(const MeasuringThreads&) = delete;

  /// Revisions grow from request to request, from 1 on.
  void ask(MeasureRequest request);

 private:
  void work();

  std::function<void(MeasureAnswer)> done_;
  std::mutex mutex_;
  std::condition_variable woken_;
  std::optional<MeasureRequest> waiting_;
  bool leaving_ = false;
  std::mutex handing_over_;
  std::uint64_t handed_over_ = 0;  ///< the newest revision that was
  std::vector<std::thread> threads_;
};

}  // namespace canalrule::desk
