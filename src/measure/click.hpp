#pragma once

namespace canalrule {

/// How well a person sets one mark on a clear end, standard deviation per axis in px. Chosen here;
/// tests/reference/scale.cpp holds the end-gauge example that uses it.
inline constexpr double click_px = 0.5;

}  // namespace canalrule
