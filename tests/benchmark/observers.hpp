#pragma once

#include <canalrule/phantom/simulate.hpp>

/// Observers of gaps that know what no method is told: the prewhitening matched filter (North 1943; Barrett and Myers,
/// Foundations of Image Science, 2004). They look at the film on pixels twice as large, which loses little of even the
/// shortest gap, as blur is about as wide; nothing of what measures is used.
namespace canalrule_benchmark {

struct Seen {
  double at_mm = 0.0;          ///< where the gap is likeliest
  double score = 0.0;          ///< the filter's output there, in standard deviations
  double without_gap = 0.0;    ///< its greatest output on the same film without the gap
  double distinctness = 0.0;   ///< its expected output at the true place: the detectability index
};
struct Observed {
  Seen ideal;     ///< by one that knows the fill, the noise and the gap's shape, but not its place
  Seen learning;  ///< by one that must learn the fill's contrast, blur, line and width, and the background
};
/// Of the only gap of a film.
Observed observe(const canalrule::phantom::Description& with_gap);

}  // namespace canalrule_benchmark
