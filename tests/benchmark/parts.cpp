#include "parts.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <film_families.hpp>
#include <random>

namespace canalrule_benchmark {

using namespace canalrule;
using namespace canalrule::phantom;

namespace {

Description of_family(const Part& part, std::uint64_t seed, const families::Choice& choice) {
  if (part.family == "clean") return families::clean_film(seed, choice);
  if (part.family == "usual") return families::usual_film(seed, choice);
  ensure(part.family == "hard", "a known family");
  return families::hard_film(seed, choice);
}

Description plain(const Part& part, std::uint64_t seed, int) { return of_family(part, seed, {}); }

/// A gap of any kind, length (0.1 to 2 mm) and deficit (0.05 to 1): lengths and deficits even in their logarithm,
/// half of them across the canal, a quarter inside it, a quarter along a wall.
Description with_gap(const Part& part, std::uint64_t seed, int) {
  std::mt19937_64 engine(seed * 2654435761ULL + 97ULL);
  const auto even = [&] { return static_cast<double>(engine() >> 11) * 0x1.0p-53; };
  const double kind = even(), length = 0.1 * std::pow(20.0, even()), deficit = 0.05 * std::pow(20.0, even());
  families::Choice choice;
  choice.defect = families::WithVoid{kind < 0.5    ? DefectKind::across
                                     : kind < 0.75 ? DefectKind::inside
                                                   : DefectKind::along_wall,
                                     length, deficit, 0.6, std::nullopt};
  return of_family(part, seed, choice);
}

Description with_break(const Part& part, std::uint64_t seed, int) {
  families::Choice choice;
  choice.with_break = true;
  return of_family(part, seed, choice);
}

/// The same film, the path drawn again with another number of points.
Description redrawn(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  d.hand.jitter_px = 3.0;
  d.hand.points = static_cast<int>(part.settings[static_cast<std::size_t>(member)]);
  return d;
}

double setting(const Part& part, int member) { return part.settings[static_cast<std::size_t>(member)]; }

Description noise_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  d.beam.photons_per_pixel = setting(part, member) * std::pow(d.detector.pixel_mm / 0.03, 2);
  return d;
}

/// Pixels of another size see the same photons per area and the same field.
Description pixel_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  const double ratio = setting(part, member) / d.detector.pixel_mm;
  d.detector.pixel_mm *= ratio;
  d.detector.rows = static_cast<int>(d.detector.rows / ratio);
  d.detector.columns = static_cast<int>(d.detector.columns / ratio);
  d.beam.photons_per_pixel *= ratio * ratio;
  d.hand.jitter_px /= ratio;
  return d;
}

Description blur_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  d.detector.blur_mm = setting(part, member);
  return d;
}

Description bits_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  d.detector.bits = static_cast<int>(setting(part, member));
  return d;
}

Description response_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  d.detector.response = member == 0 ? Response::log : member == 1 ? Response::linear : Response::display;
  d.detector.display_curve = member == 2 ? DisplayCurve::gamma : DisplayCurve::sigmoid;
  d.detector.display_strength = member == 2 ? 0.8 : 3.5;
  return d;
}

Description curvature_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  Curve& curve = d.tooth.roots.front().curve;
  curve.bend_deg = std::copysign(setting(part, member), curve.bend_deg);
  return d;
}

/// The cone keeps its diameter in the middle.
Description taper_set(const Part& part, std::uint64_t seed, int member) {
  Description d = of_family(part, seed, {});
  Fill& fill = *d.canals.front().fill;
  const double half = 0.5 * (fill.coronal_mm - fill.terminus_mm);
  const double middle = std::max(fill.tip_diameter_mm + half * fill.taper, 0.15 + half * setting(part, member));
  fill.taper = setting(part, member);
  fill.tip_diameter_mm = middle - half * fill.taper;
  return d;
}

}  // namespace

std::vector<Part> all_parts(int films) {
  const int some = std::max(4, films / 5), few = std::max(4, films / 10);
  std::vector<Part> parts;
  for (const char* family : {"clean", "usual", "hard"}) {
    const std::string name = family;
    const bool bounded = name != "hard";
    parts.push_back({name, name, bounded ? Limits::bounds : Limits::none, films, plain, "", {}, {}});
    parts.push_back({name + "-gap", name, Limits::gap, films, with_gap, "", {}, {}});
    if (bounded) parts.push_back({name + "-break", name, Limits::none, films, with_break, "", {}, {}});
    parts.push_back({name + "-redrawn", name, Limits::none, few, redrawn, "points drawn", {4, 5, 6, 7, 8, 9}, {}});
  }
  const auto sweep = [&](const char* name, auto draw, const char* what, std::vector<double> settings,
                         std::vector<std::string> labels = {}) {
    parts.push_back({std::string("usual-") + name, "usual", Limits::none, some, draw, what, std::move(settings),
                     std::move(labels)});
  };
  sweep("noise", noise_set, "photons in the open beam per 0.03 mm pixel", {2000, 5000, 12000, 30000, 80000, 200000});
  sweep("pixel", pixel_set, "pixel, mm", {0.02, 0.03, 0.04, 0.05, 0.06});
  sweep("blur", blur_set, "blur at the detector (standard deviation), mm", {0.02, 0.035, 0.05, 0.07, 0.1});
  sweep("bits", bits_set, "bit depth", {8, 10, 12, 16});
  sweep("response", response_set, "response", {0, 1, 2, 3}, {"log", "linear", "gamma 0.8", "sigmoid 3.5"});
  sweep("curvature", curvature_set, "bend of the canal, degrees", {0, 15, 30, 45});
  sweep("taper", taper_set, "taper of the fill, mm per mm", {0.02, 0.04, 0.06, 0.08, 0.1});
  return parts;
}

}  // namespace canalrule_benchmark
