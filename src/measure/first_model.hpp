#pragma once

#include "follow.hpp"

namespace canalrule {

/// Where a fit starts from: the trace's radius and contrast, its offsets smoothed.
FillModel first_model(const FilmOnBench& film, const Trace& trace, double end_px, double coronal_px);

/// A model on another line along the same canal: its end at `end_px`, its centre on the line.
FillModel moved_model(const FilmOnBench& film, const FillModel& model, double end_px, double coronal_px);

}  // namespace canalrule
