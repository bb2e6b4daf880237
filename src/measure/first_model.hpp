#pragma once

#include "follow.hpp"

namespace canalrule {

/// Gutta-percha less dentine: 7.3 less 1 mm of aluminium a mm (Katz et al., J Endod 1990;16:211-213), aluminium at
/// 40 keV (NIST SRD 126): beams of 60 to 70 kV have 36 to 40 keV on average, and more behind tooth and bone.
inline constexpr double absorption_per_mm = 0.97;

/// Where a fit starts from: the trace's radius and contrast, its offsets smoothed.
FillModel first_model(const FilmOnBench& film, const Trace& trace, double end_px, double coronal_px);

/// A model on another line along the same canal: its end at `end_px`, its centre on the line.
FillModel moved_model(const FilmOnBench& film, const FillModel& model, double end_px, double coronal_px);

}  // namespace canalrule
