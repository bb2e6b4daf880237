#include <canalrule/phantom/attenuation.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include <canalrule/base/fault.hpp>

namespace canalrule::phantom {

namespace {

constexpr std::array<double, 4> table_kev{30.0, 40.0, 50.0, 60.0};

struct Element {
  std::string_view name;
  std::array<double, 4> mass_attenuation;  // cm2/g at table_kev
};

// NIST SRD 126 (Hubbell & Seltzer 1995), mass attenuation coefficients; H, C, N, Si, Ti, Cr, Fe, Ni, Cu,
// Ag, Sn, Au, Hg and Ba from memory.
constexpr std::array elements{
    Element{"H", {0.3570, 0.3458, 0.3355, 0.3260}},  Element{"C", {0.2562, 0.2076, 0.1871, 0.1753}},
    Element{"N", {0.3066, 0.2288, 0.1980, 0.1817}},  Element{"O", {0.3779, 0.2585, 0.2132, 0.1907}},
    Element{"Al", {1.128, 0.5685, 0.3681, 0.2778}},  Element{"Si", {1.436, 0.7012, 0.4385, 0.3207}},
    Element{"P", {1.700, 0.8096, 0.4916, 0.3494}},   Element{"S", {2.113, 0.9872, 0.5849, 0.4053}},
    Element{"Ca", {4.080, 1.830, 1.019, 0.6578}},    Element{"Ti", {4.972, 2.214, 1.213, 0.7661}},
    Element{"Cr", {6.738, 2.989, 1.620, 1.008}},     Element{"Fe", {8.176, 3.629, 1.958, 1.205}},
    Element{"Ni", {10.34, 4.600, 2.474, 1.512}},     Element{"Cu", {10.92, 4.862, 2.613, 1.593}},
    Element{"Zn", {12.07, 5.384, 2.892, 1.760}},     Element{"Ag", {36.68, 17.20, 9.444, 5.766}},
    Element{"Sn", {41.21, 19.42, 10.70, 6.564}},     Element{"Ba", {9.904, 24.57, 13.79, 8.511}},
    Element{"Au", {27.52, 12.98, 7.256, 4.528}},     Element{"Hg", {29.29, 13.86, 7.758, 4.852}},
    // Cortical bone as a whole, ICRU-44.
    Element{"bone", {1.331, 0.6655, 0.4242, 0.3148}}};

constexpr double barium_edge_kev = 37.44;

struct Part {
  std::string_view element;
  double mass_fraction;
};

struct Composition {
  Material material;
  std::string_view name;
  double density;  // g/cm3
  std::array<Part, 9> parts;
};

// Mass fractions of compounds from atomic weights: hydroxyapatite Ca10(PO4)6(OH)2: Ca 0.3989, P 0.1850,
// O 0.4141, H 0.0020; water: H 0.1119, O 0.8881; collagen: H 0.07, C 0.50, N 0.18, O 0.25; ZnO: Zn 0.8034,
// O 0.1966; BaSO4: Ba 0.5884, S 0.1374, O 0.2742; isoprene C5H8: C 0.8816, H 0.1184.
constexpr std::array compositions{
    Composition{Material::water, "water", 1.0, {{{"H", 0.1119}, {"O", 0.8881}}}},
    // Marrow and trabeculae: a fifth of the volume cortical bone, the rest as water.
    Composition{Material::trabecular_bone,
                "trabecular-bone",
                1.184,
                {{{"bone", 0.3243}, {"H", 0.0756}, {"O", 0.6001}}}},
    Composition{Material::cortical_bone, "cortical-bone", 1.92, {{{"bone", 1.0}}}},
    // 70 % hydroxyapatite, 20 % collagen, 10 % water; enamel 96, 1, 3.
    Composition{
        Material::dentine,
        "dentine",
        2.14,
        {{{"Ca", 0.27923}, {"P", 0.12950}, {"O", 0.42868}, {"H", 0.02659}, {"C", 0.100}, {"N", 0.036}}}},
    Composition{
        Material::enamel,
        "enamel",
        2.95,
        {{{"Ca", 0.38294}, {"P", 0.17760}, {"O", 0.42668}, {"H", 0.00598}, {"C", 0.005}, {"N", 0.0018}}}},
    // 20 % gutta and 3 % wax, 66 % ZnO, 11 % BaSO4 (class of composition: Friedman et al., J Endod 1975,
    // from memory).
    Composition{
        Material::gutta_percha,
        "gutta-percha",
        2.6180,
        {{{"C", 0.20277}, {"H", 0.02723}, {"Zn", 0.53024}, {"O", 0.15992}, {"Ba", 0.06472}, {"S", 0.01511}}}},
    // A zinc oxide sealer of about 5 mm aluminium per mm (above the 3 mm of ISO 6876).
    Composition{Material::sealer,
                "sealer",
                2.2,
                {{{"C", 0.30}, {"H", 0.04}, {"Zn", 0.44}, {"O", 0.17}, {"Ba", 0.035}, {"S", 0.015}}}},
    Composition{Material::composite,
                "composite",
                2.1,
                {{{"Si", 0.25}, {"O", 0.44}, {"C", 0.14}, {"H", 0.015}, {"Ba", 0.045}, {"Al", 0.11}}}},
    Composition{
        Material::amalgam, "amalgam", 11.0, {{{"Hg", 0.47}, {"Ag", 0.32}, {"Sn", 0.15}, {"Cu", 0.06}}}},
    Composition{Material::steel, "steel", 7.9, {{{"Fe", 0.72}, {"Cr", 0.18}, {"Ni", 0.10}}}},
    Composition{Material::nickel_titanium, "nickel-titanium", 6.45, {{{"Ni", 0.55}, {"Ti", 0.45}}}},
    Composition{Material::gold, "gold", 16.0, {{{"Au", 0.80}, {"Ag", 0.12}, {"Cu", 0.08}}}},
    Composition{Material::aluminium, "aluminium", 2.699, {{{"Al", 1.0}}}},
    Composition{
        Material::silicone, "silicone", 1.2, {{{"Si", 0.379}, {"O", 0.216}, {"C", 0.324}, {"H", 0.081}}}}};

double along_line(double e, double e0, double v0, double e1, double v1) {
  const double share = std::log(e / e0) / std::log(e1 / e0);
  return std::exp(std::log(v0) + share * std::log(v1 / v0));
}

}  // namespace

double mass_attenuation(std::string_view element, double energy_kev) {
  ensure(energy_kev >= table_kev.front() && energy_kev <= table_kev.back(), "energy within the table");
  const auto found =
      std::find_if(elements.begin(), elements.end(), [&](const Element& e) { return e.name == element; });
  ensure(found != elements.end(), "element in the table");
  const auto& v = found->mass_attenuation;
  if (element == "Ba" && energy_kev < table_kev[1]) {
    if (energy_kev >= barium_edge_kev)
      return along_line(energy_kev, table_kev[1], v[1], table_kev[2], v[2]);
    // Below its K edge as steep as above it.
    return v[0] *
           std::pow(energy_kev / table_kev[0], std::log(v[2] / v[1]) / std::log(table_kev[2] / table_kev[1]));
  }
  std::size_t i = 0;
  while (i + 2 < table_kev.size() && energy_kev > table_kev[i + 1]) ++i;
  return along_line(energy_kev, table_kev[i], v[i], table_kev[i + 1], v[i + 1]);
}

double linear_attenuation(Material material, double energy_kev) {
  if (material == Material::nothing) return 0.0;
  const auto found = std::find_if(compositions.begin(), compositions.end(),
                                  [&](const Composition& c) { return c.material == material; });
  ensure(found != compositions.end(), "material has a composition");
  double mass = 0.0;
  for (const Part& part : found->parts)
    if (!part.element.empty()) mass += part.mass_fraction * mass_attenuation(part.element, energy_kev);
  constexpr double per_mm = 0.1;  // from 1/cm
  return mass * found->density * per_mm;
}

Material material_of(std::string_view name) {
  for (const Composition& c : compositions)
    if (c.name == name) return c.material;
  return Material::nothing;
}

}  // namespace canalrule::phantom
