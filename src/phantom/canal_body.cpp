#include "canal_body.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "texture.hpp"

namespace canalrule::phantom {

namespace {

double weight_sum(const std::vector<SpectrumLine>& spectrum) {
  double sum = 0.0;
  for (const SpectrumLine& line : spectrum) sum += line.weight;
  return sum;
}

Spectral difference(Material in_place, double opacity, Material displaced,
                    const std::vector<SpectrumLine>& spectrum) {
  Spectral d{};
  for (std::size_t k = 0; k < spectrum.size(); ++k)
    d[k] = opacity * linear_attenuation(in_place, spectrum[k].energy_kev) -
           linear_attenuation(displaced, spectrum[k].energy_kev);
  return d;
}

double mean(const Spectral& v, const std::vector<SpectrumLine>& spectrum) {
  double sum = 0.0;
  for (std::size_t k = 0; k < spectrum.size(); ++k) sum += spectrum[k].weight * v[k];
  return sum / weight_sum(spectrum);
}

/// The line of the fill's diameter, apart from the tip's rounding.
struct FillLine {
  explicit FillLine(const Fill& f) : fill(f), breaks(f.breaks) {
    std::sort(breaks.begin(), breaks.end(), [](const Break& a, const Break& b) { return a.at_mm < b.at_mm; });
  }
  double taper_at(double z) const {
    double taper = fill.taper;
    for (const Break& b : breaks)
      if (b.at_mm <= z && b.taper) taper = *b.taper;
    return taper;
  }
  double diameter_at(double z) const {
    double d = fill.tip_diameter_mm, taper = fill.taper, at = fill.terminus_mm;
    for (const Break& b : breaks) {
      if (b.at_mm > z) break;
      d += taper * (b.at_mm - at) + b.step_mm;
      at = b.at_mm;
      if (b.taper) taper = *b.taper;
    }
    return d + taper * (z - at);
  }
  const Fill& fill;
  std::vector<Break> breaks;
};

/// Share of the fill's excess that is left at a height, the gaps across it being taken off.
double share_left(const Fill& fill, double z, const std::vector<double>& missing) {
  double left = 1.0;
  for (std::size_t i = 0; i < fill.defects.size(); ++i) {
    const Defect& d = fill.defects[i];
    if (d.kind != DefectKind::across) continue;
    const double outside = std::abs(z - d.at_mm) - 0.5 * d.length_mm;
    double depth = outside < 0.0 ? 1.0 : 0.0;
    if (d.soft_mm > 0.0)
      depth = 0.5 - 0.5 * std::sin(std::numbers::pi * std::clamp(outside / d.soft_mm, -0.5, 0.5));
    left -= depth * missing[i];
  }
  return left;
}

Round build_fill(const Fill& fill, const std::vector<double>& missing) {
  const FillLine line(fill);
  Round round;
  round.from_mm = fill.terminus_mm;
  round.to_mm = fill.coronal_mm;
  double body_from = fill.terminus_mm;
  if (fill.tip == TipShape::round && fill.tip_rounding > 0.0) {
    const double radius = 0.5 * fill.tip_diameter_mm / (1.0 - 0.5 * fill.taper * fill.tip_rounding);
    const double height = fill.tip_rounding * radius;
    body_from += height;
    round.pieces.push_back({.from_mm = fill.terminus_mm,
                            .to_mm = body_from,
                            .rounded = true,
                            .radius_mm = radius,
                            .share = share_left(fill, fill.terminus_mm + 0.5 * height, missing)});
  }
  std::vector<double> cuts{body_from, fill.coronal_mm, 0.0};
  for (const Break& b : fill.breaks) cuts.push_back(b.at_mm);
  for (const Defect& d : fill.defects) {
    if (d.kind != DefectKind::across) continue;
    constexpr int steps = 24;  // of each soft end: the depth is then true to 2 % of itself
    for (const double end : {d.at_mm - 0.5 * d.length_mm, d.at_mm + 0.5 * d.length_mm}) {
      if (d.soft_mm <= 0.0) cuts.push_back(end);
      else
        for (int i = 0; i <= steps; ++i)
          cuts.push_back(end + d.soft_mm * (static_cast<double>(i) / steps - 0.5));
    }
  }
  std::sort(cuts.begin(), cuts.end());
  for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
    const double from = cuts[i], to = cuts[i + 1];
    if (from < body_from || to > fill.coronal_mm || to - from < 1e-9) continue;
    const double middle = 0.5 * (from + to), slope = 0.5 * line.taper_at(middle);
    round.pieces.push_back({.from_mm = from, .to_mm = to,
                            .radius_from_mm = 0.5 * line.diameter_at(middle) - slope * (middle - from),
                            .slope = slope, .share = share_left(fill, middle, missing)});
  }
  return round;
}

Round build_file(const File& file) {
  // ISO 3630-1: 0.02 mm per mm over the 16 mm of the operative part, then a shaft of even width, which
  // goes on above the stop into the handle.
  constexpr double taper = 0.02, operative_mm = 16.0, above_stop_mm = 4.0;
  const double tip = file.tip_mm, d0 = 0.01 * file.size;
  const double radius = 0.5 * d0 / (1.0 - 0.5 * taper);
  const double end = tip + file.length_mm + above_stop_mm, bend = tip + operative_mm;
  Round round;
  round.from_mm = tip;
  round.to_mm = end;
  round.pieces.push_back({.from_mm = tip, .to_mm = tip + radius, .rounded = true, .radius_mm = radius});
  round.pieces.push_back({.from_mm = tip + radius, .to_mm = std::min(bend, end),
                          .radius_from_mm = 0.5 * (d0 + taper * radius), .slope = 0.5 * taper});
  if (bend < end)
    round.pieces.push_back(
        {.from_mm = bend, .to_mm = end, .radius_from_mm = 0.5 * (d0 + taper * operative_mm)});
  return round;
}

/// The disc that marks the file's length: its apical face lies at length_mm from the tip.
Round build_stop(const File& file) {
  constexpr double thickness_mm = 1.2, radius_mm = 1.4;  // common practice, no source
  const double from = file.tip_mm + file.length_mm;
  Round round;
  round.from_mm = from;
  round.to_mm = from + thickness_mm;
  round.pieces.push_back({.from_mm = from, .to_mm = from + thickness_mm, .radius_from_mm = radius_mm});
  return round;
}

std::vector<double> uneven_density(const Line& line, double spread, std::uint64_t seed) {
  constexpr double grain_mm = 0.3;  // chosen here, by the look of real fills
  const std::vector<float> noise =
      lattice_noise(static_cast<int>(line.film.size()), 1, grain_mm / line.step_mm, 1.0, seed, 600);
  double square = 0.0;
  for (float v : noise) square += static_cast<double>(v * v) / static_cast<double>(noise.size());
  std::vector<double> density;
  for (float v : noise) density.push_back(1.0 + spread * static_cast<double>(v) / std::sqrt(square));
  return density;
}

/// The fill's depth along the beam over its width: a ray goes through as many times more of it, and of its defects,
/// wherever it crosses.
std::vector<double> depth_over_width(const Line& line, const Fill& fill) {
  std::vector<double> depth;
  for (std::size_t i = 0; i < line.film.size(); ++i) {
    const double along = line.first_mm + static_cast<double>(i) * line.step_mm;
    const double share = std::clamp((along - fill.terminus_mm) / (fill.coronal_mm - fill.terminus_mm), 0.0, 1.0);
    depth.push_back(1.0 + (fill.coronal_depth_ratio - 1.0) * share);
  }
  return depth;
}

double largest_radius(const Round& round) {
  double r = 0.0;
  for (const Piece& p : round.pieces)
    r = std::max({r, radius_at(p, p.from_mm), radius_at(p, p.to_mm)});
  return r;
}

void reach(CanalBody& canal, double from, double to, double radius) {
  canal.active_from_mm = std::min(canal.active_from_mm, from);
  canal.active_to_mm = std::max(canal.active_to_mm, to);
  canal.active_radius_mm = std::max(canal.active_radius_mm, radius);
}

void add(Spectral& sum, double length, const Spectral& per_mm) {
  for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += length * per_mm[k];
}

}  // namespace

double outline_radius(const Round& round, double along_mm) {
  for (const Piece& p : round.pieces)
    if (along_mm >= p.from_mm && along_mm <= p.to_mm) return radius_at(p, along_mm);
  return 0.0;
}

double missing_share(const Defect& defect, const Fill& fill, const std::vector<SpectrumLine>& spectrum) {
  if (defect.deficit) return *defect.deficit;
  const double whole = mean(difference(fill.material, fill.opacity, Material::dentine, spectrum), spectrum);
  return 1.0 - mean(difference(defect.content, 1.0, Material::dentine, spectrum), spectrum) / whole;
}

namespace {

/// How far from the axis anything lies at each sample of the line, and where a ray meets nothing but
/// the fill's or the empty canal's even walls.
void note_reach(CanalBody& body) {
  const Line& line = body.line;
  body.reach_mm.assign(line.film.size(), 0.0);
  body.plain.assign(line.film.size(), 1);
  const auto index = [&](double z) {
    return static_cast<std::size_t>(
        std::clamp((z - line.first_mm) / line.step_mm, 0.0, static_cast<double>(line.film.size() - 1)));
  };
  constexpr double margin_mm = 0.16;  // some pixels, and what a leaning ray passes
  const auto busy = [&](double from, double to) {
    for (std::size_t i = index(from - margin_mm); i <= index(to + margin_mm); ++i) body.plain[i] = 0;
  };
  const auto reaches = [&](double from, double to, double radius) {
    for (std::size_t i = index(from - margin_mm); i <= index(to + margin_mm); ++i)
      body.reach_mm[i] = std::max(body.reach_mm[i], radius);
  };
  for (const Round* round : {&body.fill, &body.unfilled, &body.file, &body.stop})
    for (const Piece& p : round->pieces) {
      reaches(p.from_mm, p.to_mm, std::max(radius_at(p, p.from_mm), radius_at(p, p.to_mm)) + 0.01);
      if (p.rounded) busy(p.from_mm, p.to_mm);
      busy(p.from_mm, p.from_mm);
      busy(p.to_mm, p.to_mm);
    }
  for (const Bubble& b : body.bubbles)
    busy(b.body.along_mm - b.body.half_along, b.body.along_mm + b.body.half_along);
  for (const Wall& w : body.walls) busy(w.cut.from_mm, w.cut.to_mm);
  for (const PuffBody& p : body.puffs) {
    const double from = p.body.along_mm - p.body.half_along, to = p.body.along_mm + p.body.half_along;
    busy(from, to);
    reaches(from, to, std::abs(p.body.across_mm) + p.body.half_across);
  }
}

}  // namespace

CanalBody build_canal(const Canal& canal, const Curve& curve, const ToothFrame& frame,
                      const Projection& projection, const std::vector<SpectrumLine>& spectrum,
                      std::uint64_t seed) {
  constexpr double step_mm = 0.02;  // a chord of a curve of 5 mm radius is then off by 1e-5 mm
  CanalBody body;
  body.line = trace(curve, frame, projection, -8.0, 32.0, step_mm);
  body.active_from_mm = 100.0;
  body.active_to_mm = -100.0;
  double unfilled_to = 0.0;
  if (canal.fill) {
    const Fill& fill = *canal.fill;
    std::vector<double> missing;
    for (const Defect& d : fill.defects) missing.push_back(missing_share(d, fill, spectrum));
    body.fill = build_fill(fill, missing);
    body.fill_over_dentine = difference(fill.material, fill.opacity, Material::dentine, spectrum);
    body.fill_over_bone = difference(fill.material, fill.opacity, Material::trabecular_bone, spectrum);
    for (std::size_t i = 0; i < fill.defects.size(); ++i) {
      const Defect& d = fill.defects[i];
      const double half = 0.5 * d.length_mm, azimuth = d.azimuth_deg * std::numbers::pi / 180.0;
      if (d.kind == DefectKind::inside)
        body.bubbles.push_back(
            {{d.at_mm, d.offset_mm, 0.0, half, 0.5 * d.width_mm, 0.5 * d.width_mm}, missing[i]});
      if (d.kind == DefectKind::along_wall)
        body.walls.push_back(
            {{d.at_mm - half, d.at_mm + half, d.width_mm, std::cos(azimuth), std::sin(azimuth)}, missing[i]});
    }
    if (fill.uneven > 0.0) body.density = uneven_density(body.line, fill.uneven, seed);
    if (fill.coronal_depth_ratio != 1.0) body.depth = depth_over_width(body.line, fill);
    unfilled_to = fill.terminus_mm;
    reach(body, body.fill.from_mm, body.fill.to_mm, largest_radius(body.fill));
  } else {
    unfilled_to = 14.0;
  }
  if (unfilled_to > 0.0 && canal.foramen_mm > 0.0) {
    // The empty canal meets the fill's rounded end: it goes on beneath it to where the fill is full.
    const double past = canal.fill && !body.fill.pieces.empty() && body.fill.pieces.front().rounded
                            ? body.fill.pieces.front().to_mm - body.fill.from_mm
                            : 0.0;
    body.unfilled.from_mm = 0.0;
    body.unfilled.to_mm = unfilled_to + past;
    body.unfilled.pieces.push_back({.from_mm = 0.0,
                                    .to_mm = unfilled_to + past,
                                    .radius_from_mm = 0.5 * canal.foramen_mm,
                                    .slope = 0.5 * canal.unfilled_taper});
    body.unfilled_excess = difference(Material::water, 1.0, Material::dentine, spectrum);
    reach(body, 0.0, body.unfilled.to_mm, largest_radius(body.unfilled));
  }
  if (canal.file) {
    body.file = build_file(*canal.file);
    body.file_excess = difference(canal.file->material, 1.0, Material::dentine, spectrum);
    body.stop = build_stop(*canal.file);
    body.stop_excess = difference(Material::silicone, 1.0, Material::nothing, spectrum);
    reach(body, body.file.from_mm, body.file.to_mm, largest_radius(body.stop));
  }
  for (const Puff& p : canal.puffs) {
    body.puffs.push_back(
        {{p.along_mm, p.across_mm, 0.0, 0.5 * p.length_mm, 0.5 * p.width_mm, 0.5 * p.depth_mm},
         difference(p.material, 1.0, Material::trabecular_bone, spectrum)});
    reach(body, p.along_mm - 0.5 * p.length_mm, p.along_mm + 0.5 * p.length_mm,
          std::abs(p.across_mm) + 0.5 * p.width_mm);
  }
  note_reach(body);
  return body;
}

Spectral excess_along(const CanalBody& canal, const Ray& ray) {
  Spectral sum{};
  const double slack = std::abs(ray.lean) * 3.0 * canal.active_radius_mm;
  const double low = ray.along_mm - slack, high = ray.along_mm + slack;
  Stretch inside{1e9, -1e9};
  double radius = 0.0;
  const double density = canal.density.empty() ? 1.0 : canal.line.interpolate(canal.density, ray.along_mm);
  const double depth = canal.depth.empty() ? 1.0 : canal.line.interpolate(canal.depth, ray.along_mm);
  for (const Piece& p : canal.fill.pieces) {
    if (p.to_mm < low || p.from_mm > high) continue;
    const Stretch s = crossing(p, ray);
    if (s.length() <= 0.0) continue;
    inside = {std::min(inside.from, s.from), std::max(inside.to, s.to)};
    if (ray.along_mm >= p.from_mm && ray.along_mm <= p.to_mm) radius = radius_at(p, ray.along_mm);
    const bool beyond = p.from_mm + p.to_mm < 0.0;
    add(sum, density * depth * p.share * s.length(), beyond ? canal.fill_over_bone : canal.fill_over_dentine);
  }
  if (inside.length() > 0.0) {
    for (const Bubble& b : canal.bubbles) {
      const Stretch s = crossing(b.body, ray);
      const Stretch both{std::max(s.from, inside.from), std::min(s.to, inside.to)};
      add(sum, -b.missing * depth * (s.length() > 0.0 ? both.length() : 0.0), canal.fill_over_dentine);
    }
    for (const Wall& w : canal.walls)
      add(sum, -w.missing * depth * cut_length(w.cut, ray, radius, inside), canal.fill_over_dentine);
  }
  for (const Piece& p : canal.unfilled.pieces) {
    if (p.to_mm < low || p.from_mm > high) continue;
    const double length = crossing(p, ray).length();
    // What the fill's rounded end takes of it is not empty.
    add(sum, std::max(0.0, length - inside.length()), canal.unfilled_excess);
  }
  for (const Piece& p : canal.file.pieces) {
    if (p.to_mm < low || p.from_mm > high) continue;
    add(sum, crossing(p, ray).length(), canal.file_excess);
  }
  for (const Piece& p : canal.stop.pieces) add(sum, crossing(p, ray).length(), canal.stop_excess);
  for (const PuffBody& p : canal.puffs) add(sum, crossing(p.body, ray).length(), p.excess);
  return sum;
}

Ray ray_past(const Line& line, const Nearest::Found& found, Point pixel, const Projection& projection) {
  const std::size_t i = found.index;
  const Vec3 place = line.place[i] + found.share * (line.place[i + 1] - line.place[i]);
  const Vec3 tangent = line.tangent[i] + found.share * (line.tangent[i + 1] - line.tangent[i]);
  const Vec3 ray = projection.source() - projection.on_detector(pixel);
  const Vec3 from = place - projection.source();
  const double length2 = dot(ray, ray), along_ray = dot(ray, tangent);
  const Vec3 normal = cross(ray, tangent);
  const double normal2 = dot(normal, normal);
  // Foot of the shortest distance, on the axis, from `place`.
  const double along = (along_ray * dot(ray, from) - length2 * dot(tangent, from)) / normal2;
  const double off = std::abs(dot(from, normal)) / std::sqrt(normal2);
  return {found.arc_mm + along, found.off_px < 0.0 ? -off : off, along_ray / std::sqrt(length2)};
}

}  // namespace canalrule::phantom
