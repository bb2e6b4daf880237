#include "anatomy.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "texture.hpp"

namespace canalrule::phantom {

namespace {

constexpr double pi = std::numbers::pi;

/// Standard deviation of lattice noise over the plane: that of cubic B-splines with normal numbers for weights.
constexpr double patch_spread = 151.0 / 315.0;

/// Rises from 0 at x = 0 to 1 at x = reach as a quarter of a circle does: a rounded end.
double rounded(double x, double reach) {
  if (x <= 0.0) return 0.0;
  if (x >= reach) return 1.0;
  const double u = 1.0 - x / reach;
  return std::sqrt(1.0 - u * u);
}

double smooth(double x) {
  const double u = std::clamp(x, 0.0, 1.0);
  return u * u * (3.0 - 2.0 * u);
}

double half_chord(double off, double half_width) {
  const double u = off / half_width;
  return u * u < 1.0 ? std::sqrt(1.0 - u * u) : 0.0;
}

/// Length through a root grown by `shell` on all sides.
double root_length(const Root& root, double along, double off, double shell) {
  const double cap = rounded(along + shell, 1.4 * root.apical_radius_mm + shell);
  if (cap <= 0.0) return 0.0;
  const double radius = root.apical_radius_mm + root.taper * std::max(0.0, along);
  return 2.0 * (radius * root.depth_ratio + shell) * cap * half_chord(off, (radius + shell) * cap);
}

/// The crown's outline, in mm from the middle of the neck: `up` towards the cusps, `across`.
struct CrownShape {
  const Crown& crown;
  double neck_half = 0.0, neck_depth = 0.0;  ///< half widths of the tooth at the neck
  double trunk_half = 0.0;                   ///< half width where the roots part

  double half_width(double up) const {
    if (up < 0.0 && crown.trunk_mm > 0.0) return neck_half + (neck_half - trunk_half) * up / crown.trunk_mm;
    const double swell = smooth(up / (0.5 * crown.height_mm));
    const double close = 1.0 - 0.10 * smooth((up / crown.height_mm - 0.55) / 0.45);
    return (neck_half + (0.5 * crown.width_mm - neck_half) * swell) * close;
  }
  double half_depth(double up) const {
    return neck_depth + (0.5 * crown.depth_mm - neck_depth) * smooth(up / (0.5 * crown.height_mm));
  }
  static constexpr double deepest_mm = 1.8,
                          rounding_mm = 2.0;  ///< of the chewing surface: one cusp's slopes; its edge
  double top(double across) const {
    const double phase = 2.0 * pi * crown.cusps * (across / crown.width_mm + 0.5);
    return crown.height_mm - 0.5 * (1.0 + std::cos(phase)) * (crown.cusps > 1 ? 0.5 : 1.0) * deepest_mm;
  }
  /// Length through what lies `inset` mm inside the outline (negative: outside).
  double length(double up, double across, double inset, double top_inset) const {
    const double half = half_width(up) - inset, depth = half_depth(up) - inset;
    if (half <= 0.0 || depth <= 0.0 || std::abs(across) >= half) return 0.0;
    const double above = up < crown.height_mm - deepest_mm - rounding_mm - top_inset
                             ? 1.0
                             : rounded(top(across) - top_inset - up, rounding_mm);
    // The trunk ends in an arch between the roots.
    const double u = across / half, arch_mm = 0.45 * crown.trunk_mm;
    const double below = crown.trunk_mm > 0.0
                             ? rounded(up + crown.trunk_mm - arch_mm * (1.0 - u * u) - inset, 1.5)
                             : (up >= 0.0 ? 1.0 : 0.0);
    // One root's crown is as round as the root; one on several roots is nearer to a box.
    const double chord = half_chord(across, half);
    return 2.0 * depth * (crown.trunk_mm > 0.0 ? std::sqrt(chord) : chord) * above * below;
  }
};

/// Unevenness of what surrounds a root, two slow fields of unit variance over the film.
struct Uneven {
  std::vector<float> ligament, lamina;
};

/// The opening that a filled tooth's crown was closed with: place and half width at the fill's end.
struct Plug {
  double across_mm = 0.0, along_mm = 0.0, half_mm = 0.5;
};

/// What the tooth's inside is drawn as: the whole pulp; its chamber alone, the canals being drawn with
/// their contents; that opened to the mouth, for a file; or neither, a filled tooth's chamber being closed.
enum class Inside { pulp, chamber, opened, closed };

/// A tooth with all that belongs to drawing it.
class ToothPainter {
 public:
  ToothPainter(const ToothFrame& frame, const Projection& projection, const std::vector<Root>& roots,
               const Crown& crown, Restoration restoration, std::optional<Plug> plug, Inside inside)
      : plane_(frame, projection), roots_(roots), shape_{crown}, restoration_(restoration), plug_(plug),
        inside_(inside) {
    double left = 1e9, right = -1e9, low_left = 1e9, low_right = -1e9, lowest = 0.0;
    for (const Root& root : roots) {
      lines_.push_back(trace(root.curve, frame, projection, -3.0, crown.root_length_mm + 2.0, 0.1));
      const Line& line = lines_.back();
      const auto end =
          static_cast<std::size_t>(std::lround((crown.root_length_mm - line.first_mm) / line.step_mm));
      const Vec3 neck = line.place[end] - frame.origin;
      const double radius = root.apical_radius_mm + root.taper * crown.root_length_mm;
      left = std::min(left, dot(neck, frame.across) - radius);
      right = std::max(right, dot(neck, frame.across) + radius);
      const auto parting = static_cast<std::size_t>(
          std::lround((crown.root_length_mm - crown.trunk_mm - line.first_mm) / line.step_mm));
      const double parted = dot(line.place[parting] - frame.origin, frame.across);
      low_left = std::min(low_left, parted - radius + root.taper * crown.trunk_mm);
      low_right = std::max(low_right, parted + radius - root.taper * crown.trunk_mm);
      neck_along_ += dot(neck, frame.along) / static_cast<double>(roots.size());
      shape_.neck_depth = std::max(shape_.neck_depth, radius * root.depth_ratio);
      lowest = std::min(lowest, root.curve.along_mm);
      for (const Vec3& p : line.place) {
        const double a = dot(p - frame.origin, frame.across);
        from_ = std::min(from_, a - radius - 1.0);
        to_ = std::max(to_, a + radius + 1.0);
      }
    }
    neck_across_ = 0.5 * (left + right);
    shape_.neck_half = 0.5 * (right - left);
    shape_.trunk_half = 0.5 * (low_right - low_left);
    from_ = std::min(from_, neck_across_ - 0.5 * crown.width_mm - 1.0);
    to_ = std::max(to_, neck_across_ + 0.5 * crown.width_mm + 1.0);
    bottom_ = lowest - 2.0;
    const auto a = plane_.at({0.0, 0.0}), b = plane_.at({1000.0, 0.0});
    mm_per_px_ = std::hypot(a.across - b.across, a.along - b.along) / 1000.0;
  }

  void paint(Anatomy& anatomy, Plane& displaced, const Jaw& jaw, const Uneven& uneven) const {
    std::vector<Nearest> nearest(lines_.begin(), lines_.end());
    const Crown& crown = shape_.crown;
    std::size_t i = 0;
    for (int r = 0; r < displaced.rows; ++r) {
      for (int c = 0; c < displaced.columns; ++c, ++i) {
        const Point pixel{c + 0.5, r + 0.5};
        const auto [a, along] = plane_.at(pixel);
        const double up = along - neck_along_, across = a - neck_across_;
        if (a < from_ || a > to_ || along < bottom_ || up > crown.height_mm + 0.5) continue;
        const double gap =
            jaw.ligament_mm * std::max(0.3, 1.0 + 0.35 * static_cast<double>(uneven.ligament[i]));
        const double plate =
            jaw.lamina_dura_mm * std::max(0.0, 0.8 + 0.6 * static_cast<double>(uneven.lamina[i]));
        double body = 0.0, ligament = 0.0, lamina = 0.0, canal = 0.0;
        if (up < 1.0)
          for (std::size_t k = 0; k < lines_.size(); ++k) {
            const auto found = nearest[k].find(pixel);
            if (!found.inside || found.arc_mm > crown.root_length_mm + 0.2) continue;
            const double off = found.off_px * mm_per_px_;
            // Several roots merge into their trunk.
            const double own =
                crown.trunk_mm > 0.0
                    ? 1.0 - smooth((found.arc_mm - crown.root_length_mm) / (0.5 * crown.trunk_mm) + 1.0)
                    : 1.0;
            const double outer = own * root_length(roots_[k], found.arc_mm, off, gap + plate);
            if (outer <= 0.0) continue;
            lamina = std::max(lamina, outer);
            ligament = std::max(ligament, own * root_length(roots_[k], found.arc_mm, off, gap));
            body = std::max(body, own * root_length(roots_[k], found.arc_mm, off, 0.0));
            if (inside_ == Inside::pulp && found.arc_mm > 0.0) {
              const double radius = 0.08 + 0.018 * found.arc_mm;
              canal = std::max(canal, 3.0 * radius * half_chord(off, radius));
            }
          }
        double core = body;
        if (up > -crown.trunk_mm - 1.0) {
          const double outline = shape_.length(up, across, 0.0, 0.0);
          const double thins = smooth(up / (0.6 * crown.height_mm));
          const double inner =
              shape_.length(up, across, crown.enamel_mm * 0.75 * thins, crown.enamel_mm * smooth(up / 3.0));
          core = std::max(core, up > 0.0 ? inner : outline);
          body = std::max(body, outline);
          if (up < 0.0) {
            ligament = std::max(ligament, shape_.length(up, across, -gap, 0.0));
            lamina = std::max(lamina, shape_.length(up, across, -gap - plate, 0.0));
          }
        }
        ligament = std::max(ligament, body);
        lamina = std::max(lamina, ligament);
        if (lamina <= 0.0) continue;
        double enamel = std::max(0.0, body - core);
        if (inside_ == Inside::opened) enamel *= 1.0 - opening_share(across, up);
        hollow(anatomy, i, across, up, along, canal, core);
        anatomy.dentine.value[i] += core;
        anatomy.enamel.value[i] += enamel;
        displaced.value[i] += lamina;
        const double fade = smooth((jaw.crest_mm - along) / 0.8);
        anatomy.cortical.value[i] += fade * (lamina - ligament);
        anatomy.soft.value[i] += fade * (ligament - body);
      }
    }
  }

 private:
  /// Share of the crown that the opening to the canals takes along a ray.
  double opening_share(double across, double up) const {
    return 0.45 * smooth(up / 2.0) * half_chord(across, 0.9 + 0.7 * smooth(up / shape_.crown.height_mm));
  }

  /// The pulp's space, and what a dentist put in its place; takes its length off the core.
  void hollow(Anatomy& anatomy, std::size_t i, double across, double up, double along, double canal,
              double& core) const {
    const Crown& crown = shape_.crown;
    const double top = 0.3 * crown.height_mm, bottom = crown.trunk_mm > 0.0 ? -0.6 * crown.trunk_mm : -3.0;
    const double rise = smooth((up - bottom) / (top - bottom));
    const double half = 0.35 + ((crown.trunk_mm > 0.0 ? 0.28 : 0.2) * crown.width_mm - 0.35) * rise;
    const double chamber = (0.6 + 1.8 * rise) * rounded(top + 0.1 * across * across - up, 1.2) *
                           rounded(up - bottom, crown.trunk_mm > 0.0 ? 0.8 : 2.0) * half_chord(across, half);
    double pulp = inside_ == Inside::closed ? 0.0 : std::max(chamber, canal);
    if (inside_ == Inside::opened) pulp = std::max(pulp, opening_share(across, up) * core);
    pulp = std::min(core, pulp);
    core -= pulp;
    anatomy.soft.value[i] += inside_ == Inside::opened ? 0.0 : pulp;
    if (inside_ == Inside::opened) return;
    double closed = 0.0;
    if (plug_ && restoration_ != Restoration::none) {
      const double above = along - plug_->along_mm, aside = across + neck_across_ - plug_->across_mm;
      closed = 2.2 * rounded(above - 0.1 * aside / plug_->half_mm, 0.4) *
               half_chord(aside, plug_->half_mm + 1.0 * smooth(above / 5.0));
    }
    if (restoration_ == Restoration::composite || restoration_ == Restoration::amalgam) {
      const double wide = 0.30 * crown.width_mm, u = (across - 0.12 * crown.width_mm) / wide;
      closed =
          std::max(closed, 4.0 * rounded(up - 0.42 * crown.height_mm - 0.8 * u * u - 0.15 * across, 0.5) *
                               std::sqrt(half_chord(u, 1.0)));
    }
    closed = std::min(core, closed);
    core -= closed;
    anatomy.restoration.value[i] += closed;
    if (restoration_ == Restoration::metal_crown && up > 0.4) {
      const double shell = shape_.length(up, across, 0.0, 0.0) - shape_.length(up, across, 0.5, 0.8);
      anatomy.restoration.value[i] += 2.0 * std::max(0.0, shell);
    }
  }

  ToothPlane plane_;
  const std::vector<Root>& roots_;
  CrownShape shape_;
  Restoration restoration_;
  std::optional<Plug> plug_;
  Inside inside_;
  std::vector<Line> lines_;
  double neck_across_ = 0.0, neck_along_ = 0.0, from_ = 0.0, to_ = 0.0, bottom_ = 0.0;
  double mm_per_px_ = 0.0;
};

/// Where the crown's opening meets the fills: above the highest of them, wide enough for all.
std::optional<Plug> plug_over(const Description& description, const ToothFrame& frame,
                              const Projection& projection) {
  std::optional<Plug> plug;
  double left = 1e9, right = -1e9;
  for (const Canal& canal : description.canals) {
    if (!canal.fill) continue;
    const Curve& curve = canal.curve ? *canal.curve : description.tooth.roots.front().curve;
    const Line line = trace(curve, frame, projection, -0.1, canal.fill->coronal_mm + 0.7, 0.1);
    const Vec3 end = line.place.back() - frame.origin;
    left = std::min(left, dot(end, frame.across));
    right = std::max(right, dot(end, frame.across));
    plug = Plug{0.5 * (left + right), std::max(plug ? plug->along_mm : -1e9, dot(end, frame.along)),
                0.5 * (right - left) + 0.7};
  }
  return plug;
}

Material material_of_restoration(Restoration restoration) {
  switch (restoration) {
    case Restoration::amalgam: return Material::amalgam;
    case Restoration::metal_crown: return Material::gold;
    default: return Material::composite;
  }
}

}  // namespace

ToothPlane::ToothPlane(const ToothFrame& frame, const Projection& projection) {
  const Vec3 source = projection.source();
  const Vec3 corner = projection.on_detector({0.0, 0.0});
  const Vec3 per_x = projection.on_detector({1.0, 0.0}) - corner,
             per_y = projection.on_detector({0.0, 1.0}) - corner;
  const auto component = [&](Vec3 axis) {
    return Component{dot(corner - source, axis), dot(per_x, axis), dot(per_y, axis)};
  };
  normal_ = component(frame.depth);
  across_ = component(frame.across);
  along_ = component(frame.along);
  height_ = dot(frame.origin - source, frame.depth);
  across_from_ = dot(source - frame.origin, frame.across);
  along_from_ = dot(source - frame.origin, frame.along);
}

Anatomy build_anatomy(const Description& description, const ToothFrame& frame, const Projection& projection) {
  const int columns = description.detector.columns, rows = description.detector.rows;
  const Jaw& jaw = description.jaw;
  Anatomy anatomy;
  for (Plane* plane : {&anatomy.trabecular, &anatomy.cortical, &anatomy.dentine, &anatomy.enamel,
                       &anatomy.soft, &anatomy.restoration})
    *plane = Plane(columns, rows, 0.0);
  anatomy.restoration_material = material_of_restoration(description.tooth.restoration);

  Plane displaced(columns, rows, 0.0);
  const ToothPlane plane(frame, projection);
  const auto p0 = plane.at({0.0, 0.0}), p1 = plane.at({1000.0, 0.0});
  const double mm_per_px = std::hypot(p0.across - p1.across, p0.along - p1.along) / 1000.0;
  const double slow = 1.6 / mm_per_px;  // surroundings of a root change over some millimetres
  const Uneven uneven{lattice_noise(columns, rows, slow, slow, description.seed, 400),
                      lattice_noise(columns, rows, slow, slow, description.seed, 401)};
  const Tooth& tooth = description.tooth;
  const auto any = [&](auto has) {
    return std::any_of(description.canals.begin(), description.canals.end(), has);
  };
  const Inside inside = any([](const Canal& canal) { return canal.file.has_value(); })   ? Inside::opened
                        : any([](const Canal& canal) { return canal.fill.has_value(); }) ? Inside::closed
                                                                                          : Inside::chamber;
  ToothPainter(frame, projection, tooth.roots, tooth.crown, tooth.restoration,
               plug_over(description, frame, projection), inside)
      .paint(anatomy, displaced, jaw, uneven);
  for (const Neighbour& n : description.neighbours) {
    ToothFrame beside = frame;
    const double lean = n.lean_deg * pi / 180.0;
    beside.origin = frame.place(n.across_mm, n.along_mm, 0.0);
    beside.along = std::cos(lean) * frame.along + std::sin(lean) * frame.across;
    beside.across = std::cos(lean) * frame.across - std::sin(lean) * frame.along;
    Jaw there = jaw;
    there.crest_mm -= n.along_mm;
    ToothPainter(beside, projection, n.roots, n.crown, n.restoration, {}, Inside::pulp)
        .paint(anatomy, displaced, there, uneven);
  }

  std::vector<float> pattern;
  if (jaw.texture > 0.0)
    pattern = texture(columns, rows, {mm_per_px, jaw.texture_exponent, jaw.strands, jaw.trabecula_mm},
                      description.seed);
  std::vector<float> patches;
  if (jaw.patches > 0.0)
    patches =
        lattice_noise(columns, rows, jaw.patch_mm / mm_per_px, jaw.patch_mm / mm_per_px, description.seed, 402);
  // The plates are uneven by the same pattern read backwards, which is as good as another.
  std::size_t i = 0;
  const std::size_t last = displaced.value.size() - 1;
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c, ++i) {
      const auto [across, along] = plane.at({c + 0.5, r + 0.5});
      const double below = jaw.crest_mm - along - 0.3 * static_cast<double>(uneven.ligament[last - i]);
      const double bone = rounded(below, 3.0);
      double spongy = std::max(0.0, (jaw.bone_mm - jaw.cortical_mm) * bone - displaced.value[i]);
      if (!patches.empty())
        spongy *= std::max(0.0, 1.0 + jaw.patches / patch_spread * static_cast<double>(patches[i]));
      double marrow = 0.0;
      if (jaw.lesion_mm > 0.0) {
        // Bone lost about the apex: a ball's chord, its edge soft.
        const double u2 = 4.0 * (across * across + along * along) / (jaw.lesion_mm * jaw.lesion_mm);
        marrow = u2 < 1.0 ? std::min(spongy, jaw.lesion_mm * (1.0 - u2)) : 0.0;
        spongy -= marrow;
      }
      double wave = 1.0, plates = 1.0;
      if (!pattern.empty()) {
        wave = std::max(0.0, 1.0 + jaw.texture * static_cast<double>(pattern[i]));
        plates =
            std::max(0.0, 1.0 + plate_texture_share * jaw.texture * static_cast<double>(pattern[last - i]));
      }
      anatomy.trabecular.value[i] = spongy * wave;
      anatomy.cortical.value[i] += jaw.cortical_mm * bone * plates;
      anatomy.soft.value[i] += marrow + jaw.soft_tissue_mm * (0.45 + 0.55 * smooth((below + 3.0) / 4.5));
    }
  return anatomy;
}

}  // namespace canalrule::phantom
