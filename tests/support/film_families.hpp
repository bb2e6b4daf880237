#pragma once

#include <cstdint>
#include <optional>

#include <canalrule/phantom/simulate.hpp>

/// Films drawn at random, the same for the same seed on every machine.
namespace canalrule::families {

/// A void to put into the fill, in place of chance.
struct WithVoid {
  phantom::DefectKind kind = phantom::DefectKind::across;
  double length_mm = 0.5;
  double deficit = 1.0;                ///< of the excess in it
  double width_share = 0.6;            ///< `inside`, `along_wall`: of the fill's diameter there
  std::optional<double> above_tip_mm{};  ///< its middle above the terminus; missing: at random
};

struct Choice {
  std::optional<WithVoid> defect{};    ///< missing: no void
  bool with_break = false;             ///< a step of the diameter of 0.06 to 0.15 mm, up or down
};

/// No texture, `log`, 16 bit, one canal.
phantom::Description clean_film(std::uint64_t seed, const Choice& choice = {});
/// Textured bone, noise, 8 or 12 bit, any response, either polarity, one canal.
phantom::Description usual_film(std::uint64_t seed, const Choice& choice = {});
/// Overlaps, merging canals, halos, restorations, low contrast, clipping, extruded sealer.
phantom::Description hard_film(std::uint64_t seed, const Choice& choice = {});

}  // namespace canalrule::families
