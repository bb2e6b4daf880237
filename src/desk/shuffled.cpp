#include <cstdint>
#include <numeric>
#include <utility>
#include <vector>

#include <canalrule/desk/session.hpp>

namespace canalrule::desk {

namespace {

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014).
class SplitMix64 {
 public:
  explicit SplitMix64(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    state_ += 0x9e3779b97f4a7c15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31U);
  }

  /// 0 to count - 1, each as likely as any other: what would favour the low ones is drawn again.
  std::uint64_t below(std::uint64_t count) {
    const std::uint64_t uneven = (std::uint64_t{0} - count) % count;
    std::uint64_t drawn = next();
    while (drawn < uneven) drawn = next();
    return drawn % count;
  }

 private:
  std::uint64_t state_;
};

}  // namespace

std::vector<std::size_t> shuffled(std::size_t count, std::uint64_t seed) {
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  SplitMix64 random(seed);
  for (std::size_t i = count; i > 1; --i)
    std::swap(order[i - 1], order[static_cast<std::size_t>(random.below(static_cast<std::uint64_t>(i)))]);
  return order;
}

}  // namespace canalrule::desk
