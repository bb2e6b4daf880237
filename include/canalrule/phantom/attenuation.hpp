#pragma once

#include <string_view>
#include <vector>

namespace canalrule::phantom {

/// One line of the beam's spectrum.
struct SpectrumLine {
  double energy_kev = 40.0;  ///< 30 to 60
  double weight = 1.0;       ///< share of the detected energy; the weights are normalised
};

/// What X-rays pass on their way to the sensor.
enum class Material {
  nothing, water, trabecular_bone, cortical_bone, dentine, enamel, gutta_percha, sealer,
  composite, amalgam, steel, nickel_titanium, gold, aluminium, silicone
};

/// Mass attenuation coefficient of an element ("H", "Ca", ...) in cm2/g at 30 to 60 keV, log-log
/// interpolated between the table's energies (NIST SRD 126, Hubbell & Seltzer 1995). Barium's K edge
/// (37.44 keV) lies between 30 and 40 keV: there each side is extrapolated from its own table values.
/// A name that is not in the table is a fault.
double mass_attenuation(std::string_view element, double energy_kev);

/// Linear attenuation coefficient in 1/mm. Compositions and densities are the class of material, not
/// a make; attenuation.cpp gives each with its source.
double linear_attenuation(Material material, double energy_kev);

/// The material of a name in a description ("gutta-percha"); an unknown name gives nothing.
Material material_of(std::string_view name);

}  // namespace canalrule::phantom
