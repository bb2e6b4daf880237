// Work side by side: each piece once, on no more threads than asked for, and the first piece's failure comes out.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <canalrule/base/side_by_side.hpp>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <set>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

using canalrule::bands_side_by_side;
using canalrule::side_by_side;

TEST_CASE("each piece is done once, on any number of threads") {
  for (const std::size_t threads : {0, 1, 2, 3, 64})
    for (const std::size_t count : {0, 1, 2, 7}) {
      CAPTURE(threads);
      CAPTURE(count);
      std::vector<std::atomic<int>> done(count);
      side_by_side(count, threads, [&](std::size_t i) { ++done[i]; });
      for (const std::atomic<int>& one : done) CHECK(one == 1);
    }
}

TEST_CASE("bands hold each row once, in as even parts as there are, also more bands than rows") {
  for (const int rows : {0, 1, 5, 1000})
    for (const std::size_t bands : {std::size_t{1}, std::size_t{2}, std::size_t{7}}) {
      CAPTURE(rows);
      CAPTURE(bands);
      std::vector<std::atomic<int>> held(static_cast<std::size_t>(rows));
      std::atomic<int> longest = 0;
      std::atomic<std::size_t> numbers = 0;
      bands_side_by_side(rows, bands, 2, [&](const canalrule::RowBand& band) {
        for (int row = band.from; row < band.to; ++row) ++held[static_cast<std::size_t>(row)];
        if (band.to - band.from > longest) longest = band.to - band.from;
        numbers += band.number;
      });
      CHECK(std::all_of(held.begin(), held.end(), [](const std::atomic<int>& times) { return times == 1; }));
      CHECK(longest <= rows / static_cast<int>(bands) + 1);
      CHECK(numbers == bands * (bands - 1) / 2);
    }
}

TEST_CASE("two pieces run at the same time on two threads, and one after the other on one") {
  using namespace std::chrono_literals;
  std::mutex mutex;
  std::condition_variable met;
  int here = 0;
  bool together = false;
  side_by_side(2, 2, [&](std::size_t) {
    std::unique_lock lock(mutex);
    ++here;
    met.notify_all();
    if (met.wait_for(lock, 60s, [&] { return here == 2; })) together = true;
  });
  CHECK(together);

  std::set<std::thread::id> threads;
  side_by_side(5, 1, [&](std::size_t) { threads.insert(std::this_thread::get_id()); });
  CHECK(threads == std::set{std::this_thread::get_id()});
}

TEST_CASE("what is thrown comes out once all have ended, of several the first piece's") {
  for (const std::size_t threads : {1, 3}) {
    CAPTURE(threads);
    std::atomic<int> ended = 0;
    std::string told;
    try {
      side_by_side(6, threads, [&](std::size_t i) {
        ++ended;
        if (i == 2 || i == 4) throw std::runtime_error(std::to_string(i));
      });
    } catch (const std::runtime_error& error) {
      told = error.what();
    }
    CHECK(told == "2");
    CHECK(ended == 6);
  }
}
