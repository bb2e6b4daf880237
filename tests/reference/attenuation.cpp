// Attenuation of what stands on a periapical film, held to values from outside:
// - NIST SRD 126 (Hubbell & Seltzer), mass attenuation coefficients and the linear ones that follow
//   from stated compositions and densities;
// - Katz, Kaffe, Littner, Tagger, Tamse, J Endod 1990;16:211-213: gutta-percha is as opaque as 7.26
//   (D-speed film) or 7.53 (E-speed) mm of aluminium per mm, root dentine as 1;
// - ISO 6876:2012: a sealer as at least 3 mm of aluminium per mm.
#include <array>

#include <doctest/doctest.h>

#include <canalrule/phantom/attenuation.hpp>

using namespace canalrule::phantom;

TEST_CASE("mass attenuation is the table's at the table's energies") {
  constexpr std::array kev{30.0, 40.0, 50.0, 60.0};
  struct Row {
    const char* element;
    std::array<double, 4> cm2_per_g;
  };
  for (const Row& row :
       {Row{"Al", {1.128, 0.5685, 0.3681, 0.2778}}, Row{"O", {0.3779, 0.2585, 0.2132, 0.1907}},
        Row{"P", {1.700, 0.8096, 0.4916, 0.3494}}, Row{"Ca", {4.080, 1.830, 1.019, 0.6578}},
        Row{"Zn", {12.07, 5.384, 2.892, 1.760}}, Row{"Ba", {9.904, 24.57, 13.79, 8.511}},
        Row{"bone", {1.331, 0.6655, 0.4242, 0.3148}}})
    for (std::size_t i = 0; i < kev.size(); ++i) {
      CAPTURE(row.element);
      CHECK(mass_attenuation(row.element, kev[i]) == doctest::Approx(row.cm2_per_g[i]).epsilon(1e-9));
    }
}

TEST_CASE("linear attenuation of tissue and fill, per cm") {
  struct Row {
    double kev, aluminium, dentine, enamel, cortical, gutta_percha;
  };
  for (const Row& row :
       {Row{30, 3.0445, 3.355, 5.988, 2.556, 18.73}, Row{40, 1.5344, 1.637, 2.827, 1.278, 11.85},
        Row{50, 0.9935, 1.015, 1.687, 0.814, 6.55}, Row{60, 0.7498, 0.735, 1.176, 0.604, 4.07}}) {
    CAPTURE(row.kev);
    const auto per_cm = [&](Material m) { return 10.0 * linear_attenuation(m, row.kev); };
    CHECK(per_cm(Material::aluminium) == doctest::Approx(row.aluminium).epsilon(1e-3));
    CHECK(per_cm(Material::dentine) == doctest::Approx(row.dentine).epsilon(2e-3));
    CHECK(per_cm(Material::enamel) == doctest::Approx(row.enamel).epsilon(2e-3));
    CHECK(per_cm(Material::cortical_bone) == doctest::Approx(row.cortical).epsilon(1e-3));
    CHECK(per_cm(Material::gutta_percha) == doctest::Approx(row.gutta_percha).epsilon(1e-2));
  }
}

TEST_CASE("opacity in millimetres of aluminium per millimetre is what was measured") {
  const auto aluminium_equivalent = [](Material m) {
    return linear_attenuation(m, 40.0) / linear_attenuation(Material::aluminium, 40.0);
  };
  CHECK(aluminium_equivalent(Material::gutta_percha) >
        7.26 * 0.93);  // films and receptors differ by 7 % and more
  CHECK(aluminium_equivalent(Material::gutta_percha) < 7.53 * 1.07);
  CHECK(aluminium_equivalent(Material::dentine) == doctest::Approx(1.0).epsilon(0.08));
  CHECK(aluminium_equivalent(Material::enamel) == doctest::Approx(2.0).epsilon(0.10));
  CHECK(aluminium_equivalent(Material::sealer) > 3.0);
}
