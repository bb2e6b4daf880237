// A file of known length in another canal of the same tooth, which lies over the measured fill on the film, on
// simulated films, truth by construction: it isn't followed, what it hides is told, and the rest is right. Bounds
// chosen here.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 24;  ///< seeds 7301 to 7324
constexpr double gross_mm = 0.3;
constexpr double width_rms_mm = 0.015;  ///< as of usual films

/// A usual film on which a file of size 10 to 35 in a canal behind crosses the fill 0.5 to 10 mm from the apex, at 8 to
/// 23 degrees. The file's canal is the first.
phantom::Description crossed_film(int i) {
  phantom::Description d = families::usual_film(static_cast<std::uint64_t>(7301 + i));
  d.tooth.restoration = phantom::Restoration::none;
  d.detector.rows = static_cast<int>(36.0 / d.detector.pixel_mm);
  phantom::Canal behind = d.canals.front();
  behind.name = "2";
  behind.fill.reset();
  phantom::Curve curve = d.tooth.roots.front().curve;
  curve.depth_mm = 1.5;
  curve.splay_deg = (i % 2 == 0 ? 1.0 : -1.0) * (8.0 + 3.0 * (i % 6));
  const double crosses_mm = 0.5 + 10.0 * ((i * 5) % films) / films;
  curve.across_mm = -crosses_mm * std::tan(curve.splay_deg * std::numbers::pi / 180.0);
  behind.curve = curve;
  phantom::File file;
  file.size = 10.0 + 5.0 * (i % 6);
  file.tip_mm = 0.5;
  file.length_mm = d.tooth.crown.root_length_mm + d.tooth.crown.height_mm + 1.0 - file.tip_mm;
  behind.file = file;
  d.canals.insert(d.canals.begin(), behind);
  d.hand.scale = phantom::ScaleMarking::file;
  d.hand.scale_jitter_px = 3.0;
  return d;
}

bool hidden_by_object(const CanalResult& canal, const std::string& figure) {
  return std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(), [&](const NotAssessable& one) {
    return one.figure == figure && one.reason == "scale-object";
  });
}

}  // namespace

TEST_CASE("a file that crosses the fill isn't followed, and what it hides is told: seeds 7301 to 7324") {
  int ends = 0, levels = 0, told = 0;
  Errors widths;
  for (const Measured& film : on_two_workers(films, [](int i) {
         const phantom::Simulated simulated = phantom::simulate(crossed_film(i));
         Case opened = case_of(simulated);
         opened.reading.canals.erase(opened.reading.canals.begin());
         return Measured{simulated.truth, measure(opened)};
       })) {
    const CanalResult& canal = film.result.canals.front();
    const phantom::TrueCanal& truth = film.truth.canals.at(1);
    CAPTURE(family_seed(film.truth));
    const double scale_error = film.result.scale.mm_per_pixel / film.truth.mm_per_pixel - 1.0;
    if (canal.terminus) {
      ++ends;
      const double error = canal.terminus->to_apex_mm - truth.terminus_to_apex_mm * (1.0 + scale_error);
      CHECK((std::fabs(error) < gross_mm || warned(canal, "end-uncertain")));
    } else {
      CHECK(hidden_by_object(canal, "terminus"));
    }
    if (canal.coronal_level_mm) {
      ++levels;
      CHECK(std::fabs(canal.coronal_level_mm->value - truth.coronal_level_mm * (1.0 + scale_error)) < gross_mm);
    } else {
      CHECK(hidden_by_object(canal, "coronal_level_mm"));
    }
    if (warned(canal, "scale-object-over-fill") && hidden_by_object(canal, "voids") && hidden_by_object(canal, "width"))
      ++told;
    // What is left of a fill between the object and an end told as uncertain may be anything.
    if (warned(canal, "end-uncertain")) continue;
    for (const WidthAt& w : canal.width) {
      const double off = w.width_mm - true_width(truth, w.at_mm);
      if (!std::isnan(off)) widths.add(off, w.standard_uncertainty_mm);
    }
    for (const Void& one : canal.voids.value_or(std::vector<Void>{})) CHECK(one.score < 3.0);
  }
  MESSAGE("of " << films << ": ends " << ends << ", levels " << levels << ", told " << told << "; widths RMS "
                << widths.rms() << " mm of " << widths.count());
  CHECK(ends >= films / 2);
  CHECK(levels >= films / 2);
  CHECK(told >= films - 1);  // of one the file crosses the canal apical of its fill
  CHECK(widths.count() > 400);
  CHECK(widths.rms() < width_rms_mm);
}
