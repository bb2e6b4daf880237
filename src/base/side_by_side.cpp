#include <canalrule/base/side_by_side.hpp>

#include <algorithm>
#include <atomic>
#include <exception>
#include <system_error>
#include <thread>
#include <vector>

namespace canalrule {

void side_by_side(std::size_t count, std::size_t threads, const std::function<void(std::size_t)>& one) {
  std::vector<std::exception_ptr> thrown(count);
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        one(i);
      } catch (...) {
        thrown[i] = std::current_exception();
      }
    }
  };
  std::vector<std::jthread> others;
  for (std::size_t i = 1; i < std::min(threads, count); ++i) {
    try {
      others.emplace_back(work);
    } catch (const std::system_error&) {
      break;
    }
  }
  work();
  others.clear();
  for (const std::exception_ptr& one_thrown : thrown)
    if (one_thrown) std::rethrow_exception(one_thrown);
}

void bands_side_by_side(int rows, std::size_t bands, std::size_t threads,
                        const std::function<void(const RowBand&)>& one) {
  const auto first_row = [&](std::size_t band) {
    return static_cast<int>(band * static_cast<std::size_t>(rows) / bands);
  };
  side_by_side(bands, threads, [&](std::size_t band) { one({band, first_row(band), first_row(band + 1)}); });
}

}  // namespace canalrule
