#pragma once

#include <optional>
#include <vector>

#include <canalrule/record/result.hpp>

namespace canalrule::window {

/// The measured widths in runs, so that no line is drawn over a stretch without any.
std::vector<std::vector<WidthAt>> runs_of(const std::vector<WidthAt>& widths);

}  // namespace canalrule::window
