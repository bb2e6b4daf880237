#pragma once

#include <optional>
#include <vector>

#include <canalrule/record/result.hpp>

namespace canalrule::window {

/// The measured widths in runs, so that no line is drawn over a stretch without any.
std::vector<std::vector<WidthAt>> runs_of(const std::vector<WidthAt>& widths);

/// The width measured nearest to that distance; missing where none is nearer than 1 mm (chosen here, for
/// drawing alone).
std::optional<double> width_near(const CanalResult& canal, double at_mm);

}  // namespace canalrule::window
