#pragma once

#include <canalrule/record/result.hpp>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// How tall the legend is in a column of that width.
double legend_height(const Result& result, double width);

/// What the signs mean: those that this result uses.
Layer legend(const Result& result, const Box& box);

}  // namespace canalrule::report
