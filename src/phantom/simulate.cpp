#include <canalrule/phantom/simulate.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>

#include "anatomy.hpp"
#include "canal_body.hpp"
#include "hand.hpp"
#include "truth.hpp"

namespace canalrule::phantom {

namespace {

std::string_view name_of(Response response) {
  switch (response) {
    case Response::log: return "log";
    case Response::linear: return "linear";
    case Response::display: return "display";
  }
  fault("a known response");
}

/// Exposure behind the anatomy, without the canals' contents, and the attenuation per spectrum line.
struct Primary {
  std::vector<Plane> exposure;  ///< one per spectrum line, weighted; their sum is what is detected
};

Primary expose(const Anatomy& a, const std::vector<SpectrumLine>& spectrum) {
  double total = 0.0;
  for (const SpectrumLine& line : spectrum) total += line.weight;
  Primary primary;
  for (const SpectrumLine& line : spectrum) {
    const double e = line.energy_kev;
    const double trabecular = linear_attenuation(Material::trabecular_bone, e);
    const double cortical = linear_attenuation(Material::cortical_bone, e);
    const double dentine = linear_attenuation(Material::dentine, e);
    const double enamel = linear_attenuation(Material::enamel, e);
    const double soft = linear_attenuation(Material::water, e);
    const double restoration = linear_attenuation(a.restoration_material, e);
    Plane plane(a.soft.columns, a.soft.rows, 0.0);
    for (std::size_t i = 0; i < plane.value.size(); ++i)
      plane.value[i] = line.weight / total *
                       std::exp(-(trabecular * a.trabecular.value[i] + cortical * a.cortical.value[i] +
                                  dentine * a.dentine.value[i] + enamel * a.enamel.value[i] +
                                  soft * a.soft.value[i] + restoration * a.restoration.value[i]));
    primary.exposure.push_back(std::move(plane));
  }
  return primary;
}

/// Marks the pixels that a canal's contents can reach.
void mark_reach(std::vector<std::uint8_t>& mask, int columns, int rows, const CanalBody& body,
                double mm_per_px) {
  const double reach = body.active_radius_mm / mm_per_px + 3.0;
  const double margin = reach * mm_per_px;
  for (double z = body.active_from_mm - margin; z <= body.active_to_mm + margin; z += 0.1) {
    const Point p = body.line.film_at(z);
    const double half = reach + 0.1 / mm_per_px;
    const int x0 = std::clamp(static_cast<int>(p.x - half), 0, columns),
              x1 = std::clamp(static_cast<int>(p.x + half) + 1, 0, columns);
    const int y0 = std::clamp(static_cast<int>(p.y - half), 0, rows),
              y1 = std::clamp(static_cast<int>(p.y + half) + 1, 0, rows);
    for (int y = y0; y < y1; ++y)
      for (int x = x0; x < x1; ++x)
        mask[static_cast<std::size_t>(y) * static_cast<std::size_t>(columns) + static_cast<std::size_t>(x)] =
            1;
  }
}

/// Puts the canals' contents into the exposure: their transmission is averaged over each pixel, in
/// which what lies behind is taken as even.
void add_canals(Primary& primary, const std::vector<CanalBody>& bodies, const Projection& projection,
                const TrueScale& scale) {
  const int columns = primary.exposure.front().columns, rows = primary.exposure.front().rows;
  std::vector<std::uint8_t> mask(primary.exposure.front().value.size(), 0);
  for (const CanalBody& body : bodies)
    if (body.active_to_mm > body.active_from_mm) mark_reach(mask, columns, rows, body, scale.across);
  std::vector<Nearest> nearest;
  for (const CanalBody& body : bodies) nearest.emplace_back(body.line);
  const std::size_t lines = primary.exposure.size();

  const auto excess = [&](Point p) {
    Spectral sum{};
    for (std::size_t b = 0; b < bodies.size(); ++b) {
      const auto found = nearest[b].find(p);
      if (!found.inside || std::abs(found.off_px) * scale.across > bodies[b].reach_mm[found.index] + 0.01)
        continue;
      const Spectral one = excess_along(bodies[b], ray_past(bodies[b].line, found, p, projection));
      for (std::size_t k = 0; k < lines; ++k) sum[k] += one[k];
    }
    return sum;
  };
  // Sub-pixels along and across: many where an edge may pass (a sum over the edge is then true to 1e-4),
  // few where all is smooth, none where nothing is.
  constexpr int at_edges = 8, inside = 4;
  const auto fineness = [&](Point p) {
    int most = 0;
    for (std::size_t b = 0; b < bodies.size(); ++b) {
      const auto found = nearest[b].find(p);
      const double reach = bodies[b].reach_mm[found.index] / scale.across;
      const double off = std::abs(found.off_px);
      if (!found.inside || reach <= 0.0 || off > reach + 1.5) continue;
      const double wall = outline_radius(bodies[b].fill, found.arc_mm) / scale.across;
      most = std::max(most, bodies[b].plain[found.index] != 0 && off < wall - 2.0 ? inside : at_edges);
    }
    return most;
  };

  std::size_t i = 0;
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c, ++i) {
      if (mask[i] == 0) continue;
      const int fine = fineness({c + 0.5, r + 0.5});
      if (fine == 0) continue;
      Spectral transmission{};
      for (int v = 0; v < fine; ++v)
        for (int u = 0; u < fine; ++u) {
          const Spectral e = excess({c + (u + 0.5) / fine, r + (v + 0.5) / fine});
          for (std::size_t k = 0; k < lines; ++k) transmission[k] += std::exp(-e[k]);
        }
      for (std::size_t k = 0; k < lines; ++k) primary.exposure[k].value[i] *= transmission[k] / (fine * fine);
    }
}

/// What stands beside the fill's middle: attenuation, the pattern's spread, the noise.
void describe_flanks(TrueCanal& canal, const CanalBody& body, const Anatomy& anatomy, const Plane& exposure,
                     const TrueScale& scale, const Description& description) {
  if (!canal.filled) return;
  const Beam& beam = description.beam;
  const double energy = beam.spectrum.front().energy_kev;
  const double spongy = linear_attenuation(Material::trabecular_bone, energy);
  const double plates = plate_texture_share * linear_attenuation(Material::cortical_bone, energy);
  const double third = canal.filled_length_mm / 3.0;
  double n = 0.0, light = 0.0, pattern2 = 0.0;
  for (double at = canal.terminus_to_apex_mm + third; at < canal.terminus_to_apex_mm + 2.0 * third;
       at += 0.05) {
    const Point p = body.line.film_at(at), q = body.line.film_at(at + 0.1);
    const double step = std::hypot(q.x - p.x, q.y - p.y);
    const double off = (outline_radius(body.fill, at) + 0.25) / scale.across;
    for (const double side : {-1.0, 1.0}) {
      const int x = static_cast<int>(p.x - side * off * (q.y - p.y) / step);
      const int y = static_cast<int>(p.y + side * off * (q.x - p.x) / step);
      if (x < 0 || y < 0 || x >= exposure.columns || y >= exposure.rows) continue;
      n += 1.0;
      light += exposure.at(x, y);
      const double a = spongy * anatomy.trabecular.at(x, y), b = plates * anatomy.cortical.at(x, y);
      pattern2 += a * a + b * b;
    }
  }
  if (n < 1.0) return;
  canal.flank_attenuation = -std::log(light / n);
  canal.flank_texture = description.jaw.texture * std::sqrt(pattern2 / n);
  const double total = light / n * (1.0 + beam.scatter_to_primary);
  const double quantum = beam.photons_per_pixel > 0.0 ? 1.0 / (beam.photons_per_pixel * total) : 0.0;
  const double electronic = description.detector.electronic_noise / total;
  canal.flank_noise = std::sqrt(quantum + electronic * electronic);
}

Film film_of(const Description& description, const cv::Mat& grey, const TrueScale& scale) {
  const Detector& detector = description.detector;
  Film film;
  grey.convertTo(film.grey, CV_32F);
  film.highest_grey = static_cast<double>((1 << detector.bits) - 1);
  film.bits_stored = detector.bits;
  film.format = "simulated, " + std::to_string(detector.bits) + " bit";
  if (description.hand.scale == ScaleMarking::spacing)
    film.spacing = Spacing{scale.along, scale.along, SpacingKind::calibrated, "FIDUCIAL", "simulated", {}};
  return film;
}

const Curve& curve_of(const Canal& canal, const Tooth& tooth) {
  return canal.curve ? *canal.curve : tooth.roots.front().curve;
}

Point cusp_of(const Crown& crown, const ToothFrame& frame, const Projection& projection) {
  const double across = crown.cusps > 1 ? crown.width_mm * (0.5 / crown.cusps) * -1.0 : 0.0;
  return projection.on_film(frame.place(across, crown.root_length_mm + crown.height_mm, 0.0));
}

}  // namespace

Simulated simulate(const Description& description) {
  const Beam& beam = description.beam;
  const Detector& detector = description.detector;
  ensure(!beam.spectrum.empty() && beam.spectrum.size() <= 3, "one to three spectrum lines");
  ensure(!description.tooth.roots.empty(), "a tooth with a root");
  const Projection projection(beam, detector);
  const ToothFrame frame = tooth_frame(description.tooth, beam, detector);
  const TrueScale scale = true_scale(frame, projection, beam);

  std::vector<CanalBody> bodies;
  for (const Canal& canal : description.canals)
    bodies.push_back(build_canal(canal, curve_of(canal, description.tooth), frame, projection, beam.spectrum,
                                 description.seed + bodies.size()));

  Simulated result;
  Truth& truth = result.truth;
  for (std::size_t i = 0; i < bodies.size(); ++i)
    truth.canals.push_back(true_canal(description.canals[i], bodies[i], beam.spectrum, scale,
                                      curve_of(description.canals[i], description.tooth).bend_deg));
  for (std::size_t i = 0; i < bodies.size(); ++i)
    for (std::size_t j = 0; j < bodies.size(); ++j)
      if (i != j) find_overlaps(truth.canals[i], bodies[i], truth.canals[j], bodies[j], scale);

  const Anatomy anatomy = build_anatomy(description, frame, projection);
  Primary primary = expose(anatomy, beam.spectrum);
  {
    Plane behind = primary.exposure.front();
    for (std::size_t k = 1; k < primary.exposure.size(); ++k)
      for (std::size_t i = 0; i < behind.value.size(); ++i) behind.value[i] += primary.exposure[k].value[i];
    for (std::size_t i = 0; i < bodies.size(); ++i)
      describe_flanks(truth.canals[i], bodies[i], anatomy, behind, scale, description);
  }
  add_canals(primary, bodies, projection, scale);
  Plane exposure = std::move(primary.exposure.front());
  for (std::size_t k = 1; k < primary.exposure.size(); ++k)
    for (std::size_t i = 0; i < exposure.value.size(); ++i) exposure.value[i] += primary.exposure[k].value[i];
  blur(exposure, detector.blur_mm / detector.pixel_mm);
  add_scatter(exposure, beam.scatter_to_primary, detector.pixel_mm);
  add_noise(exposure, beam, detector, description.seed);
  const Grey grey = respond(exposure, detector, scale.magnification);

  result.grey = grey.grey;
  result.film = film_of(description, grey.grey, scale);
  truth.apex = projection.on_film(frame.place(0, 0, 0));
  truth.cusp = cusp_of(description.tooth.crown, frame, projection);
  result.reading = draw_reading(description, bodies, frame, projection, truth.apex, truth.cusp);
  truth.seed = description.seed;
  truth.mm_per_pixel = scale.along;
  truth.mm_per_pixel_across = scale.across;
  truth.magnification = scale.magnification;
  truth.blur_mm = detector.blur_mm / scale.magnification;
  truth.texture = description.jaw.texture;
  truth.scatter_to_primary = beam.scatter_to_primary;
  truth.photons_per_pixel = beam.photons_per_pixel;
  truth.response = name_of(detector.response);
  truth.radiopaque = detector.radiopaque == Radiopaque::bright ? "bright" : "dark";
  truth.bits = detector.bits;
  truth.window_low = grey.window_low;
  truth.window_high = grey.window_high;
  truth.clipped_share = grey.clipped_share;
  return result;
}

}  // namespace canalrule::phantom
