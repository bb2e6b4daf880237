#pragma once

#include <canalrule/phantom/simulate.hpp>

#include "canal_body.hpp"
#include "truth.hpp"

namespace canalrule::phantom {

/// Draws the reading as a hand would.
Reading draw_reading(const Description& description, const std::vector<CanalBody>& bodies,
                     const ToothFrame& frame, const Projection& projection);

}  // namespace canalrule::phantom
