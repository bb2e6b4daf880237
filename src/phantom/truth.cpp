#include "truth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace canalrule::phantom {

namespace {

/// Least squares slope of width against place, over [from, to].
double slope(const std::vector<TrueWidth>& width, double from, double to) {
  double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (const TrueWidth& w : width) {
    if (w.at_mm < from || w.at_mm > to) continue;
    n += 1.0;
    x += w.at_mm;
    y += w.width_mm;
    xx += w.at_mm * w.at_mm;
    xy += w.at_mm * w.width_mm;
  }
  const double spread = n * xx - x * x;
  return spread > 0.0 ? (n * xy - x * y) / spread : 0.0;
}

double largest_fall(const std::vector<TrueWidth>& width) {
  double highest = 0.0, fall = 0.0;
  for (const TrueWidth& w : width) {
    highest = std::max(highest, w.width_mm);
    fall = std::max(fall, highest - w.width_mm);
  }
  return fall;
}

/// 3-D arc length at a place on the film, by bisection; the line's film_px rises all along.
double arc_at(const Line& line, double film_px) {
  double low = line.first_mm, high = line.first_mm + line.step_mm * static_cast<double>(line.film.size() - 1);
  for (int turn = 0; turn < 60; ++turn) {
    const double middle = 0.5 * (low + high);
    (line.film_px_at(middle) < film_px ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Missing share of a round section's area: a circle of diameter w at offset 0, or a segment of depth w.
double section_share(const Defect& d, double radius) {
  if (d.kind == DefectKind::across) return 1.0;
  if (d.kind == DefectKind::inside) return std::min(1.0, std::pow(0.5 * d.width_mm / radius, 2));
  const double rest = std::clamp(1.0 - d.width_mm / radius, -1.0, 1.0);
  return (std::acos(rest) - rest * std::sqrt(1.0 - rest * rest)) / std::numbers::pi;
}

/// Missing share of the ray that loses most, through the section at the defect's middle.
double point_share(const Defect& d, double radius) {
  if (d.kind == DefectKind::across) return 1.0;
  const Ray middle{d.at_mm, 0.0, 0.0};
  double worst = 0.0;
  constexpr int steps = 400;
  for (int i = -steps + 1; i < steps; ++i) {
    Ray ray = middle;
    ray.off_mm = radius * static_cast<double>(i) / steps;
    const double half = std::sqrt(radius * radius - ray.off_mm * ray.off_mm);
    double gone = 0.0;
    if (d.kind == DefectKind::inside) {
      const Stretch s = crossing(
          Ellipsoid{d.at_mm, d.offset_mm, 0.0, 0.5 * d.length_mm, 0.5 * d.width_mm, 0.5 * d.width_mm}, ray);
      gone = Stretch{std::max(s.from, -half), std::min(s.to, half)}.length();
    } else {
      const double azimuth = d.azimuth_deg * std::numbers::pi / 180.0;
      gone = cut_length({d.at_mm - 0.5 * d.length_mm, d.at_mm + 0.5 * d.length_mm, d.width_mm,
                         std::cos(azimuth), std::sin(azimuth)},
                        ray, radius, {-half, half});
    }
    worst = std::max(worst, gone / (2.0 * half));
  }
  return worst;
}

}  // namespace

TrueScale true_scale(const ToothFrame& frame, const Projection& projection, const Beam& beam) {
  constexpr double length_mm = 15.0;  // about that of a canal
  const auto px = [&](Vec3 a, Vec3 b) {
    const Point p = projection.on_film(a), q = projection.on_film(b);
    return std::hypot(p.x - q.x, p.y - q.y);
  };
  TrueScale scale;
  scale.along = length_mm / px(frame.place(0, 0, 0), frame.place(0, length_mm, 0));
  scale.across = 1.0 / px(frame.place(-0.5, 0, 0), frame.place(0.5, 0, 0));
  scale.magnification =
      beam.source_to_detector_mm / (beam.source_to_detector_mm - beam.object_to_detector_mm);
  return scale;
}

TrueCanal true_canal(const Canal& canal, const CanalBody& body, const std::vector<SpectrumLine>& spectrum,
                     const TrueScale& scale, double bend_deg) {
  const auto film_mm = [&](double arc) { return body.line.film_px_at(arc) * scale.along; };
  TrueCanal truth;
  truth.name = canal.name;
  truth.apex = body.line.film_at(0.0);
  truth.bend_deg = std::abs(bend_deg);
  const double top = canal.fill ? canal.fill->coronal_mm + 2.0 : 16.0;
  for (double at = -3.0; at <= top + 1e-9; at += 0.1)
    truth.centre_line.push_back({at, body.line.film_at(arc_at(body.line, at / scale.along))});
  for (const Puff& p : canal.puffs) {
    TrueMaterialBeyond beyond{"apart", film_mm(p.along_mm - 0.5 * p.length_mm),
                              std::min(0.0, film_mm(p.along_mm + 0.5 * p.length_mm)), 0.0, 0.0, {}};
    beyond.length_mm = beyond.to_mm - beyond.from_mm;
    constexpr int steps = 2000;
    for (int i = 0; i < steps; ++i) {
      const double u = (i + 0.5) / steps * 2.0 - 1.0;
      if (p.along_mm + 0.5 * u * p.length_mm < 0.0)
        beyond.area_mm2 += p.width_mm * std::sqrt(1.0 - u * u) * p.length_mm / steps;
    }
    const Point middle = body.line.film_at(p.along_mm), further = body.line.film_at(p.along_mm + 0.1);
    const double step = std::hypot(further.x - middle.x, further.y - middle.y);
    const double aside = p.across_mm / scale.across / step;
    beyond.position = {middle.x - aside * (further.y - middle.y), middle.y + aside * (further.x - middle.x)};
    truth.material_beyond_apex.push_back(beyond);
  }
  if (canal.file) {
    const double tip = canal.file->tip_mm, stop = tip + canal.file->length_mm;
    truth.file = TrueFile{body.line.film_at(tip), body.line.film_at(stop), canal.file->length_mm,
                          body.line.film_px_at(stop) - body.line.film_px_at(tip)};
  }
  if (!canal.fill) return truth;

  const Fill& fill = *canal.fill;
  truth.filled = true;
  truth.terminus = body.line.film_at(fill.terminus_mm);
  truth.terminus_to_apex_mm = film_mm(fill.terminus_mm);
  truth.coronal_level_mm = film_mm(fill.coronal_mm);
  truth.filled_length_mm = truth.coronal_level_mm - truth.terminus_to_apex_mm;
  constexpr double step_mm = 0.05;
  for (double at = std::ceil(truth.terminus_to_apex_mm / step_mm) * step_mm; at < truth.coronal_level_mm;
       at += step_mm)
    truth.width.push_back({at, 2.0 * outline_radius(body.fill, arc_at(body.line, at / scale.along))});
  const bool rounded = body.fill.pieces.front().rounded;
  const double body_from = film_mm(rounded ? body.fill.pieces.front().to_mm : fill.terminus_mm);
  const double third = truth.filled_length_mm / 3.0, t = truth.terminus_to_apex_mm;
  truth.taper_overall = slope(truth.width, body_from, truth.coronal_level_mm);
  truth.taper_apical = slope(truth.width, body_from, t + third);
  truth.taper_middle = slope(truth.width, t + third, t + 2.0 * third);
  truth.taper_coronal = slope(truth.width, t + 2.0 * third, truth.coronal_level_mm);
  truth.narrowing_mm = largest_fall(truth.width);
  double taper = fill.taper;
  std::vector<Break> breaks = fill.breaks;
  std::sort(breaks.begin(), breaks.end(), [](const Break& a, const Break& b) { return a.at_mm < b.at_mm; });
  for (const Break& b : breaks) {
    truth.breaks.push_back({film_mm(b.at_mm), b.step_mm, b.taper.value_or(taper) - taper});
    taper = b.taper.value_or(taper);
  }
  for (const Defect& d : fill.defects) {
    const double radius = outline_radius(body.fill, d.at_mm);
    const double missing = std::min(1.0, missing_share(d, fill, spectrum));
    TrueVoid v{d.kind, film_mm(d.at_mm - 0.5 * d.length_mm), film_mm(d.at_mm + 0.5 * d.length_mm), 0.0,
               d.kind == DefectKind::across ? 2.0 * radius : d.width_mm, missing * section_share(d, radius),
               missing * point_share(d, radius), body.line.film_at(d.at_mm)};
    v.length_mm = v.to_mm - v.from_mm;
    truth.voids.push_back(v);
  }
  if (truth.terminus_to_apex_mm < 0.0) {
    TrueMaterialBeyond beyond{"fill", truth.terminus_to_apex_mm, std::min(0.0, truth.coronal_level_mm),
                              0.0, 0.0, body.line.film_at(0.5 * fill.terminus_mm)};
    beyond.length_mm = beyond.to_mm - beyond.from_mm;
    constexpr int steps = 2000;
    for (int i = 0; i < steps; ++i)
      beyond.area_mm2 +=
          2.0 * outline_radius(body.fill, fill.terminus_mm * (i + 0.5) / steps) * beyond.length_mm / steps;
    truth.material_beyond_apex.push_back(beyond);
  }
  double weight = 0.0;
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    truth.contrast_per_mm += spectrum[k].weight * body.fill_over_dentine[k];
    weight += spectrum[k].weight;
  }
  truth.contrast_per_mm /= weight;
  return truth;
}

void find_overlaps(TrueCanal& canal, const CanalBody& body, const TrueCanal& other,
                   const CanalBody& other_body, const TrueScale& scale) {
  if (!canal.filled || !other.filled) return;
  Nearest nearest(other_body.line);
  constexpr double step_mm = 0.02;
  std::optional<TrueOverlap> open;
  for (double z = body.fill.from_mm; z <= body.fill.to_mm; z += step_mm) {
    const Point p = body.line.film_at(z);
    const auto found = nearest.find(p);
    const double reach = outline_radius(body.fill, z) + outline_radius(other_body.fill, found.arc_mm);
    const bool meets = found.inside && outline_radius(other_body.fill, found.arc_mm) > 0.0 &&
                       std::abs(found.off_px) * scale.across < reach;
    const double at = body.line.film_px_at(z) * scale.along;
    if (meets && !open) open = TrueOverlap{other.name, at, at};
    if (meets) open->to_mm = at;
    if (!meets && open) {
      canal.overlaps.push_back(*open);
      open.reset();
    }
  }
  if (open) canal.overlaps.push_back(*open);
}

}  // namespace canalrule::phantom
