#include <canalrule/desk/measuring.hpp>

#include <algorithm>
#include <system_error>
#include <utility>

#include <canalrule/base/refusal.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>

namespace canalrule::desk {

namespace fs = std::filesystem;

namespace {

/// The first source of the same file as it is now.
template <class Source>
const Source* known_of(const std::vector<Source>& sources, const Source& now) {
  for (const Source& source : sources)
    if (source.file == now.file && source.written == now.written && source.bytes == now.bytes) return &source;
  return nullptr;
}

/// The scale as it was found last: it stays while a canal is drawn, and its objects needn't be looked at again.
class KnownScale {
 public:
  const ScaleFound& of(const Case& opened, const std::shared_ptr<const Film>& film) {
    Key key{film, opened.reading.scale, opened.reading.radiopaque};
    // What a scale is carried over from is a film of its own, which may change.
    if (!found_ || !opened.carried.empty() || !(key == key_)) {
      found_ = find_scale(opened);
      key_ = std::move(key);
    }
    return *found_;
  }

 private:
  struct Key {
    std::shared_ptr<const Film> film;
    std::vector<ScaleMark> marks;
    std::optional<Radiopaque> radiopaque;
    friend bool operator==(const Key&, const Key&) = default;
  };
  Key key_;
  std::optional<ScaleFound> found_;
};

MeasureAnswer answer_to(const MeasureRequest& request, KnownScale& scale) {
  MeasureAnswer answer;
  answer.revision = request.revision;
  answer.refused = request.refused;
  if (!answer.refused.text.empty()) return answer;
  try {
    Case opened = open_case(request.reading_file, request.reading_text, *request.film, request.carried);
    opened.whole = request.whole;
    Result result = measure(opened, scale.of(opened, request.film));
    if (request.criteria) result.judged = judge(result, *request.criteria);
    answer.result = std::move(result);
  } catch (const Refusal& refusal) {
    answer.refused = {"%1; %2", {refusal.problem(), refusal.remedy()}};
  }
  return answer;
}

}  // namespace

MeasureAnswer measure_now(const MeasureRequest& request) {
  KnownScale scale;
  return answer_to(request, scale);
}

std::vector<CarriedFrom> CarriedSources::of(const Reading& reading, const fs::path& reading_file) {
  std::vector<CarriedFrom> all;
  std::vector<Source> kept;
  for (std::size_t i = 0; i < reading.scale.size(); ++i) {
    const auto* mark = std::get_if<CarriedLength>(&reading.scale[i]);
    if (mark == nullptr) continue;
    Source now;
    now.file = reading_file.parent_path() / mark->from_reading;
    std::error_code error;
    now.written = fs::last_write_time(now.file, error);
    if (!error) now.bytes = fs::file_size(now.file, error);
    const Source* known = error ? nullptr : known_of(sources_, now);
    if (known != nullptr) {
      now.carried = known->carried;
    } else {
      Reading one;
      one.scale = {*mark};
      now.carried = open_carried(one, reading_file).front();
    }
    now.carried.scale_index = i;
    all.push_back(now.carried);
    kept.push_back(std::move(now));
  }
  sources_ = std::move(kept);
  return all;
}

MeasuringThreads::MeasuringThreads(std::function<void(MeasureAnswer)> done) : done_(std::move(done)) {
  const unsigned threads = std::clamp(std::thread::hardware_concurrency(), 1U, 2U);
  for (unsigned i = 0; i < threads; ++i) threads_.emplace_back([this] { work(); });
}

MeasuringThreads::~MeasuringThreads() {
  {
    const std::lock_guard lock(mutex_);
    leaving_ = true;
    waiting_.reset();
  }
  woken_.notify_all();
  for (std::thread& thread : threads_) thread.join();
}

void MeasuringThreads::ask(MeasureRequest request) {
  {
    const std::lock_guard lock(mutex_);
    waiting_ = std::move(request);
  }
  woken_.notify_one();
}

void MeasuringThreads::work() {
  KnownScale scale;
  std::unique_lock lock(mutex_);
  while (true) {
    woken_.wait(lock, [this] { return leaving_ || waiting_; });
    if (leaving_) return;
    const MeasureRequest request = std::move(*waiting_);
    waiting_.reset();
    lock.unlock();
    MeasureAnswer answer = answer_to(request, scale);
    {
      const std::lock_guard one_at_a_time(handing_over_);
      if (answer.revision > handed_over_) {
        handed_over_ = answer.revision;
        done_(std::move(answer));
      }
    }
    lock.lock();
  }
}

}  // namespace canalrule::desk
