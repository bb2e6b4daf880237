#pragma once

#include <canalrule/phantom/simulate.hpp>

#include "anatomy.hpp"
#include "canal_body.hpp"

namespace canalrule::phantom {

/// The scale that a straight object of known length in the tooth's axis gives on the film.
struct TrueScale {
  double along = 0.0, across = 0.0;  ///< mm per pixel
  double magnification = 1.0;
};
TrueScale true_scale(const ToothFrame& frame, const Projection& projection, const Beam& beam);

/// All of a canal's truth but its flanks, which need the exposure.
TrueCanal true_canal(const Canal& canal, const CanalBody& body, const std::vector<SpectrumLine>& spectrum,
                     const TrueScale& scale, double bend_deg);

/// Stretches of `canal` whose outline meets that of `other` on the film.
void find_overlaps(TrueCanal& canal, const CanalBody& body, const TrueCanal& other,
                   const CanalBody& other_body, const TrueScale& scale);

}  // namespace canalrule::phantom
