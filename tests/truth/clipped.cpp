// A fill whose densest part, under the orifice, has run into the end of the grey scale, on simulated films,
// truth by construction: the fill still is there, so its coronal level is found or said not to be known, and
// what is left out is told.
#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 12;  ///< seeds 5001 to 5012
constexpr double terminus_within_mm = 0.1;
constexpr double coronal_within_mm = 0.3;  ///< chosen here: three times the bound on a terminus

phantom::Description clipped_film(std::uint64_t seed) {
  phantom::Description d;
  d.seed = seed;
  d.jaw.texture = 0.05;
  d.beam.photons_per_pixel = 60000.0;
  d.detector.window_low = 0.3;
  d.detector.window_high = 1.88;
  phantom::Fill fill;
  fill.terminus_mm = 1.0;
  fill.coronal_mm = 12.0;
  fill.tip_diameter_mm = 0.4;
  fill.taper = 0.05;
  d.canals.front().fill = fill;
  return d;
}

/// Share of the fill's centre line, over its coronal 2 mm, that lies at the end of the grey scale.
double clipped_share(const phantom::Simulated& film) {
  const phantom::TrueCanal& canal = film.truth.canals.front();
  double all = 0.0, clipped = 0.0;
  for (const phantom::TrueCentre& one : canal.centre_line) {
    if (one.at_mm < canal.coronal_level_mm - 2.0 || one.at_mm > canal.coronal_level_mm) continue;
    all += 1.0;
    if (film.film.grey.at<float>(static_cast<int>(one.position.y), static_cast<int>(one.position.x)) >=
        static_cast<float>(film.film.highest_grey))
      clipped += 1.0;
  }
  return clipped / all;
}

struct Clipped {
  double share = 0.0;
  Measured film;
};

}  // namespace

TEST_CASE("a fill clipped under the orifice") {
  int coronal_right = 0, terminus_right = 0, told = 0;
  for (const auto& [share, film] : on_two_workers(films, [](int i) {
         const phantom::Simulated simulated =
             phantom::simulate(clipped_film(static_cast<std::uint64_t>(5001 + i)));
         return Clipped{clipped_share(simulated), {simulated.truth, measure(case_of(simulated))}};
       })) {
    REQUIRE(share > 0.1);
    const CanalResult& canal = film.result.canals.front();
    const phantom::TrueCanal& truth = film.truth.canals.front();
    if (canal.terminus &&
        std::fabs(canal.terminus->to_apex_mm - truth.terminus_to_apex_mm) <= terminus_within_mm)
      ++terminus_right;
    const bool left_open = !canal.coronal_level_mm &&
                           std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(),
                                       [](const NotAssessable& n) { return n.figure == "coronal_level_mm"; });
    if (left_open || (canal.coronal_level_mm && std::fabs(canal.coronal_level_mm->value -
                                                          truth.coronal_level_mm) <= coronal_within_mm)) {
      ++coronal_right;
    } else {
      MESSAGE("seed " << film.truth.seed << ": coronal level "
                      << (canal.coronal_level_mm ? canal.coronal_level_mm->value : std::nan("")) << " of "
                      << truth.coronal_level_mm << " mm, clipped over " << share << " of its last 2 mm");
    }
    if (std::any_of(canal.warnings.begin(), canal.warnings.end(),
                    [](const Note& n) { return n.code == "clipped-grey"; }))
      ++told;
  }
  CHECK(terminus_right == films);
  CHECK(coronal_right == films);
  CHECK(told == films);
}
