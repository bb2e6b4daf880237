#include "hand.hpp"

#include <algorithm>
#include <cmath>

#include "random.hpp"

namespace canalrule::phantom {

namespace {

KnownLength exact_scale(const ToothFrame& frame, const Projection& projection, const Hand& hand) {
  constexpr double length_mm = 15.0;
  return {{projection.on_film(frame.place(0, 0, 0)), projection.on_film(frame.place(0, length_mm, 0))},
          length_mm,
          hand.scale_uncertainty_mm};
}

}  // namespace

Reading draw_reading(const Description& description, const std::vector<CanalBody>& bodies,
                     const ToothFrame& frame, const Projection& projection, Point apex, Point cusp) {
  const Hand& hand = description.hand;
  Random random(description.seed, 2);
  const auto jittered = [&](Point p, double sd) {
    const double dx = random.normal(), dy = random.normal();
    return Point{p.x + sd * dx, p.y + sd * dy};
  };
  Reading reading;
  reading.reader = hand.reader;
  reading.tooth = description.tooth.number;
  reading.image.columns = description.detector.columns;
  reading.image.rows = description.detector.rows;
  reading.response = description.detector.response;
  if (description.detector.radiopaque == Radiopaque::dark) reading.radiopaque = Radiopaque::dark;

  for (std::size_t i = 0; i < bodies.size(); ++i) {
    const Canal& canal = description.canals[i];
    const Line& line = bodies[i].line;
    CanalMarks marks;
    marks.name = canal.name;
    const double from = (canal.fill ? canal.fill->coronal_mm : 12.0) + hand.path_from_mm;
    const int last = std::max(2, hand.points) - 1;
    for (int k = 0; k <= last; ++k) {
      // Points between the ends shift along the line too, as a person's do.
      const double even = static_cast<double>(k) / last;
      const double shift = k == 0 || k == last ? 0.0 : (random.uniform() - 0.5) * 0.5 / last;
      marks.path.push_back(
          jittered(line.film_at(from + (even + shift) * (hand.path_to_mm - from)), hand.jitter_px));
    }
    const double slip = random.normal() * hand.apex_jitter_mm;
    marks.apex = line.film_at(slip);
    marks.apex_uncertainty_mm = hand.apex_uncertainty_mm;
    if (canal.planned_tip_mm || canal.planned_taper || canal.planned_working_length_mm ||
        canal.backfill_from_mm)
      marks.planned = Planned{canal.planned_tip_mm, canal.planned_taper, canal.planned_working_length_mm,
                              canal.backfill_from_mm};
    reading.canals.push_back(marks);
    if (hand.scale == ScaleMarking::file && canal.file) {
      KnownLength file;
      const double tip = canal.file->tip_mm, end = tip + canal.file->length_mm;
      constexpr int pieces = 6;
      for (int k = 0; k <= pieces; ++k)
        file.points.push_back(jittered(line.film_at(end + (tip - end) * k / pieces), hand.scale_jitter_px));
      file.length_mm = canal.file->length_mm;
      file.length_uncertainty_mm = hand.scale_uncertainty_mm;
      reading.scale.push_back(file);
    }
  }
  if (hand.scale == ScaleMarking::exact) {
    KnownLength exact = exact_scale(frame, projection, hand);
    for (Point& p : exact.points) p = jittered(p, hand.scale_jitter_px);
    reading.scale.push_back(exact);
  }
  if (hand.scale == ScaleMarking::carried)
    reading.scale.push_back(
        CarriedLength{{jittered(cusp, hand.scale_jitter_px), jittered(apex, hand.scale_jitter_px)},
                      hand.carried_from,
                      hand.carried_points});
  return reading;
}

}  // namespace canalrule::phantom
