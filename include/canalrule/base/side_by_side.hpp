#pragma once

#include <cstddef>
#include <functional>

namespace canalrule {

/// Calls one(i) once for every i below `count`, `threads` of them at a time at most, and comes back when all have
/// ended. Throws what a call threw, of several that of the least i. Where the system gives no further thread the
/// calls go on with those there are.
void side_by_side(std::size_t count, std::size_t threads, const std::function<void(std::size_t)>& one);

/// A band of rows, [from, to).
struct RowBand {
  std::size_t number = 0;
  int from = 0, to = 0;
};

/// Calls one(band) likewise for rows [0, `rows`) in so many bands of even size.
void bands_side_by_side(int rows, std::size_t bands, std::size_t threads,
                        const std::function<void(const RowBand&)>& one);

}  // namespace canalrule
