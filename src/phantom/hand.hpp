#pragma once

#include <canalrule/phantom/simulate.hpp>

#include "canal_body.hpp"
#include "truth.hpp"

namespace canalrule::phantom {

/// Draws the reading as a hand would. `apex` and `cusp` are the tooth's landmarks on the film.
Reading draw_reading(const Description& description, const std::vector<CanalBody>& bodies,
                     const ToothFrame& frame, const Projection& projection, Point apex, Point cusp);

}  // namespace canalrule::phantom
