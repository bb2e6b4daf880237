#include "film_families.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

namespace canalrule::families {

namespace {

using namespace phantom;

class Draw {
 public:
  Draw(std::uint64_t seed, std::uint64_t family) : engine_(seed * 1000003ULL + family * 7919ULL + 17ULL) {}
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(engine_() >> 11) * 0x1.0p-53;
  }
  int whole(int low, int high) {
    return low + static_cast<int>(engine_() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool chance(double p) { return between(0.0, 1.0) < p; }

 private:
  std::mt19937_64 engine_;
};

void add_defect(Fill& fill, const WithVoid& wanted, Draw& draw) {
  const double clear = 0.8 + 0.5 * wanted.length_mm;  // from both of the fill's ends
  const double lowest = fill.terminus_mm + clear, highest = fill.coronal_mm - clear;
  Defect d;
  d.kind = wanted.kind;
  d.length_mm = wanted.length_mm;
  d.at_mm = wanted.above_tip_mm ? fill.terminus_mm + *wanted.above_tip_mm : draw.between(lowest, highest);
  d.deficit = wanted.deficit;
  const double diameter = fill.tip_diameter_mm + fill.taper * (d.at_mm - fill.terminus_mm);
  d.width_mm = wanted.width_share * diameter;
  d.azimuth_deg = draw.chance(0.5) ? 0.0 : 180.0;
  if (d.kind == DefectKind::inside) d.offset_mm = draw.between(-0.4, 0.4) * 0.5 * (diameter - d.width_mm);
  if (d.kind == DefectKind::across) d.soft_mm = draw.chance(0.5) ? 0.0 : 0.4 * d.length_mm;
  fill.defects.push_back(d);
}

/// Where a curve bent in the film's plane lies `along_mm` above its apex: across, and the arc length there.
struct Crossing {
  double across_mm = 0.0, arc_mm = 0.0;
};
Crossing crossing_at(const Curve& curve, double along_mm) {
  constexpr double step_mm = 0.01, radians = std::numbers::pi / 180.0;
  Crossing at{curve.across_mm, 0.0};
  for (double along = 0.0; along < along_mm; at.arc_mm += step_mm) {
    const double u = std::min(1.0, at.arc_mm / curve.bend_over_mm);
    const double left = 1.0 - u + std::sin(2.0 * std::numbers::pi * u) / (2.0 * std::numbers::pi);
    const double angle = radians * (curve.splay_deg - curve.bend_deg * left);
    at.across_mm += step_mm * std::sin(angle);
    along += step_mm * std::cos(angle);
  }
  return at;
}

/// One tooth with one filled canal and its neighbours, sizes at random.
Description tooth_at_random(std::uint64_t seed, std::uint64_t family, Draw& draw, const Choice& choice) {
  Description d;
  d.seed = seed * 16ULL + family;
  d.detector.pixel_mm = draw.chance(0.5) ? 0.03 : draw.between(0.02, 0.04);
  const double frame_mm = draw.between(24.0, 29.0);
  d.detector.rows = std::clamp(static_cast<int>(frame_mm / d.detector.pixel_mm), 760, 1200);
  d.detector.columns = static_cast<int>(0.68 * d.detector.rows);
  d.detector.blur_mm = draw.between(0.03, 0.06);
  d.beam.object_to_detector_mm = draw.between(5.0, 18.0);
  d.beam.source_to_detector_mm = draw.between(250.0, 400.0);
  d.beam.scatter_to_primary = draw.between(0.05, 0.3);

  Tooth& tooth = d.tooth;
  tooth.upper = draw.chance(0.4);
  tooth.apex_x = draw.between(0.42, 0.58);
  tooth.apex_y = tooth.upper ? draw.between(0.2, 0.25) : draw.between(0.75, 0.8);
  tooth.rotation_deg = draw.between(-8.0, 8.0);
  tooth.number = tooth.upper ? "15" : "45";
  Root& root = tooth.roots.front();
  root.apical_radius_mm = draw.between(0.9, 1.3);
  root.taper = draw.between(0.10, 0.15);
  root.depth_ratio = draw.between(1.1, 1.5);
  root.curve.bend_deg = draw.chance(0.3) ? 0.0 : draw.between(-40.0, 40.0);
  root.curve.bend_over_mm = draw.between(5.0, 9.0);
  tooth.crown.root_length_mm = draw.between(12.0, 16.0);
  tooth.crown.cusps = draw.whole(1, 2);
  d.jaw.crest_mm = tooth.crown.root_length_mm - draw.between(0.5, 2.5);

  for (const double side : {-1.0, 1.0}) {
    Neighbour n;
    n.across_mm = side * draw.between(7.2, 8.6);
    n.along_mm = draw.between(-1.5, 1.5);
    n.lean_deg = draw.between(-6.0, 6.0);
    n.roots.front().curve.bend_deg = draw.between(-20.0, 20.0);
    n.crown.root_length_mm = tooth.crown.root_length_mm - n.along_mm + draw.between(-0.5, 0.5);
    n.restoration = draw.chance(0.25) ? Restoration::composite : Restoration::none;
    d.neighbours.push_back(n);
  }

  Canal& canal = d.canals.front();
  Fill fill;
  fill.terminus_mm = draw.between(-1.5, 4.0);
  fill.coronal_mm = std::min(tooth.crown.root_length_mm - 0.3, fill.terminus_mm + draw.between(8.0, 16.0));
  fill.tip_diameter_mm = draw.between(0.2, 0.6);
  // The fill leaves at least 0.8 mm of dentine at the neck.
  const double widest = 2.0 * (root.apical_radius_mm + root.taper * tooth.crown.root_length_mm) - 1.6;
  const double steepest =
      (std::min(1.6, widest) - fill.tip_diameter_mm) / (fill.coronal_mm - fill.terminus_mm);
  fill.taper = draw.between(0.02, std::clamp(steepest, 0.021, 0.10));
  fill.tip_rounding = draw.between(0.3, 1.2);
  canal.foramen_mm = draw.between(0.15, 0.3);
  if (fill.terminus_mm > 0.0)
    canal.unfilled_taper = std::clamp(
        (0.85 * fill.tip_diameter_mm - canal.foramen_mm) / std::max(0.5, fill.terminus_mm), 0.0, 0.2);
  if (choice.with_break) {
    Break b;
    b.at_mm = fill.terminus_mm + draw.between(0.25, 0.75) * (fill.coronal_mm - fill.terminus_mm);
    b.step_mm = draw.between(0.06, 0.15) * (draw.chance(0.5) ? 1.0 : -1.0);
    fill.breaks.push_back(b);
  }
  if (choice.defect) add_defect(fill, *choice.defect, draw);
  canal.fill = fill;

  d.hand.points = draw.whole(4, 9);
  d.hand.jitter_px = draw.between(2.0, 3.0);
  d.hand.path_from_mm = draw.between(-0.3, 1.5);
  d.hand.path_to_mm = draw.chance(0.6) ? 0.0 : draw.between(-1.0, 1.0);
  return d;
}

}  // namespace

Description clean_film(std::uint64_t seed, const Choice& choice) {
  Draw draw(seed, 1);
  Description d = tooth_at_random(seed, 1, draw, choice);
  d.jaw.texture = 0.0;
  d.detector.bits = 16;
  d.detector.response = Response::log;
  d.detector.window_low = -0.2;
  d.detector.window_high = 6.0;
  d.beam.photons_per_pixel = draw.between(30000.0, 120000.0);
  return d;
}

Description usual_film(std::uint64_t seed, const Choice& choice) {
  Draw draw(seed, 2);
  Description d = tooth_at_random(seed, 2, draw, choice);
  d.jaw.texture = draw.between(0.10, 0.22);
  d.jaw.texture_exponent = draw.between(1.2, 1.6);
  d.jaw.strands = draw.between(0.15, 0.5);
  d.jaw.trabecula_mm = draw.between(0.5, 0.9);
  d.beam.photons_per_pixel = std::exp(draw.between(std::log(8000.0), std::log(60000.0)));
  d.detector.noise_correlation_px = draw.chance(0.5) ? 0.0 : draw.between(0.4, 0.8);
  d.detector.radiopaque = draw.chance(0.2) ? Radiopaque::dark : Radiopaque::bright;
  switch (draw.whole(0, 2)) {
    case 0: d.detector.response = Response::log; break;
    case 1: d.detector.response = Response::linear; break;
    default:
      d.detector.response = Response::display;
      d.detector.display_curve = draw.chance(0.5) ? DisplayCurve::sigmoid : DisplayCurve::gamma;
      d.detector.display_strength =
          d.detector.display_curve == DisplayCurve::sigmoid ? draw.between(2.0, 4.5) : draw.between(0.7, 1.5);
  }
  d.detector.bits = draw.chance(0.5) ? 8 : 12;
  d.canals.front().fill->uneven = draw.between(0.0, 0.02);
  return d;
}

Description hard_film(std::uint64_t seed, const Choice& choice) {
  Draw draw(seed, 3);
  Description d = tooth_at_random(seed, 3, draw, choice);
  d.jaw.texture = draw.between(0.15, 0.28);
  d.jaw.strands = draw.between(0.2, 0.6);
  d.beam.photons_per_pixel = std::exp(draw.between(std::log(4000.0), std::log(30000.0)));
  d.detector.noise_correlation_px = draw.between(0.0, 0.9);
  d.detector.bits = draw.chance(0.5) ? 8 : 12;
  d.detector.response =
      draw.chance(0.5) ? Response::display : (draw.chance(0.5) ? Response::log : Response::linear);
  d.detector.display_strength = draw.between(2.5, 5.0);
  Canal& canal = d.canals.front();
  Fill& fill = *canal.fill;
  fill.uneven = draw.between(0.0, 0.04);
  switch (draw.whole(0, 5)) {
    case 0: {  // a second canal whose fill crosses it on the film
      Canal second = canal;
      second.name = "2";
      second.fill->defects.clear();
      second.fill->breaks.clear();
      Curve curve = d.tooth.roots.front().curve;
      curve.depth_mm = draw.between(1.5, 2.5);
      const double cross_mm = draw.between(4.0, 9.0);
      curve.splay_deg = draw.between(3.0, 9.0) * (draw.chance(0.5) ? 1.0 : -1.0);
      curve.across_mm = -cross_mm * std::tan(curve.splay_deg * std::numbers::pi / 180.0);
      second.curve = curve;
      second.fill->terminus_mm = std::max(0.3, fill.terminus_mm + draw.between(-0.5, 0.5));
      d.canals.push_back(second);
      break;
    }
    case 1: {  // a second canal that runs into it
      Canal second = canal;
      second.name = "2";
      second.fill->defects.clear();
      second.fill->breaks.clear();
      Curve curve;
      curve.splay_deg = draw.between(5.0, 9.0) * (draw.chance(0.5) ? 1.0 : -1.0);
      curve.along_mm = std::max(fill.terminus_mm, 0.0) + draw.between(2.0, 3.5);
      const Crossing meets = crossing_at(d.tooth.roots.front().curve, curve.along_mm);
      curve.across_mm = meets.across_mm;
      second.curve = curve;
      second.foramen_mm = 0.0;
      second.fill->terminus_mm = 0.1;
      second.fill->coronal_mm = fill.coronal_mm - meets.arc_mm;
      second.fill->taper = std::min(second.fill->taper, 0.04);
      d.canals.push_back(second);
      break;
    }
    case 2:  // halos of sharpening
      d.detector.sharpen_amount = draw.between(0.6, 1.6);
      d.detector.sharpen_radius_mm = draw.between(0.08, 0.25);
      break;
    case 3:  // low contrast
      fill.opacity = draw.between(0.3, 0.5);
      break;
    case 4:  // clipping
      d.detector.response = Response::log;
      d.detector.window_low = draw.between(0.3, 0.8);
      d.detector.window_high = draw.between(2.2, 2.9);
      break;
    default: {  // sealer pressed out
      fill.terminus_mm = draw.between(0.0, 0.6);
      Puff puff;
      puff.length_mm = draw.between(0.3, 0.9);
      puff.width_mm = draw.between(0.3, 0.9);
      puff.depth_mm = draw.between(0.3, 0.6);
      puff.along_mm = -0.5 * puff.length_mm - draw.between(0.05, 0.5);
      puff.across_mm = draw.between(-0.3, 0.3);
      canal.puffs.push_back(puff);
    }
  }
  if (draw.chance(0.3)) d.detector.jpeg_coarseness = draw.between(0.1, 0.6);
  if (draw.chance(0.3)) d.tooth.restoration = Restoration::metal_crown;
  else if (draw.chance(0.5)) d.tooth.restoration = Restoration::amalgam;
  return d;
}

}  // namespace canalrule::families
