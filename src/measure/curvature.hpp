#pragma once

#include <canalrule/base/quantity.hpp>
#include <canalrule/record/reading.hpp>
#include <optional>

namespace canalrule {

/// Schneider's angle (Oral Surg. 1971;32:271-275) of the drawn canal, in degrees: between the canal's
/// axis at the orifice and the line from the point where the canal leaves that axis to the apex. The
/// axis is the straight line through the coronal third of the path; the canal leaves it where the path
/// stays farther off than a hand draws, 0.1 mm, for good. 0 for a canal that never does.
std::optional<Quantity> schneider_angle(const CanalMarks& marks, double aspect, double mm_per_px);

}  // namespace canalrule
