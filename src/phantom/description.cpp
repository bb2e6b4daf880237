#include <canalrule/phantom/description.hpp>

#include <array>
#include <utility>

#include <nlohmann/json.hpp>

#include <canalrule/base/refusal.hpp>

#include "fields.hpp"

namespace canalrule::phantom {

namespace {

using Name = std::string_view;

constexpr std::array responses{std::pair{Name("log"), Response::log},
                               std::pair{Name("linear"), Response::linear},
                               std::pair{Name("display"), Response::display}};
constexpr std::array opacities{std::pair{Name("bright"), Radiopaque::bright},
                               std::pair{Name("dark"), Radiopaque::dark}};
constexpr std::array curves{std::pair{Name("sigmoid"), DisplayCurve::sigmoid},
                            std::pair{Name("gamma"), DisplayCurve::gamma}};
constexpr std::array restorations{
    std::pair{Name("none"), Restoration::none}, std::pair{Name("plug"), Restoration::plug},
    std::pair{Name("composite"), Restoration::composite}, std::pair{Name("amalgam"), Restoration::amalgam},
    std::pair{Name("metal-crown"), Restoration::metal_crown}};
constexpr std::array tips{std::pair{Name("round"), TipShape::round}, std::pair{Name("cut"), TipShape::cut}};
constexpr std::array defects{std::pair{Name("across"), DefectKind::across},
                             std::pair{Name("inside"), DefectKind::inside},
                             std::pair{Name("along-wall"), DefectKind::along_wall}};
constexpr std::array markings{
    std::pair{Name("exact"), ScaleMarking::exact}, std::pair{Name("file"), ScaleMarking::file},
    std::pair{Name("spacing"), ScaleMarking::spacing}, std::pair{Name("carried"), ScaleMarking::carried},
    std::pair{Name("none"), ScaleMarking::none}};
constexpr std::array materials{std::pair{Name("nothing"), Material::nothing},
                               std::pair{Name("water"), Material::water},
                               std::pair{Name("dentine"), Material::dentine},
                               std::pair{Name("gutta-percha"), Material::gutta_percha},
                               std::pair{Name("sealer"), Material::sealer},
                               std::pair{Name("composite"), Material::composite},
                               std::pair{Name("amalgam"), Material::amalgam},
                               std::pair{Name("steel"), Material::steel},
                               std::pair{Name("nickel-titanium"), Material::nickel_titanium},
                               std::pair{Name("gold"), Material::gold},
                               std::pair{Name("aluminium"), Material::aluminium},
                               std::pair{Name("silicone"), Material::silicone}};

template <typename Choice, std::size_t N>
void choice(Fields& f, const char* name, Choice& value, const std::array<std::pair<Name, Choice>, N>& names) {
  f.choice<Choice>(name, value, names);
}

void read(Fields& f, Beam& beam) {
  f.number("source_to_detector_mm", beam.source_to_detector_mm, {100.0, 2000.0});
  f.number("object_to_detector_mm", beam.object_to_detector_mm, {0.0, 60.0});
  f.number("detector_tilt_deg", beam.detector_tilt_deg, {-40.0, 40.0});
  f.number("scatter_to_primary", beam.scatter_to_primary, {0.0, 2.0});
  f.number("photons_per_pixel", beam.photons_per_pixel, {0.0, 1e9});
  if (f.has("spectrum")) {
    beam.spectrum.clear();
    f.list("spectrum", 1, 3, [&](Fields& s) {
      SpectrumLine line;
      s.number("energy_kev", line.energy_kev, {30.0, 60.0});
      s.number("weight", line.weight, {1e-6, 1e6});
      beam.spectrum.push_back(line);
    });
  }
}

void read(Fields& f, Detector& d) {
  f.whole("columns", d.columns, {32, 10000});
  f.whole("rows", d.rows, {32, 10000});
  f.number("pixel_mm", d.pixel_mm, {0.005, 0.2});
  f.number("blur_mm", d.blur_mm, {0.0, 0.5});
  f.number("noise_correlation_px", d.noise_correlation_px, {0.0, 5.0});
  f.number("electronic_noise", d.electronic_noise, {0.0, 0.1});
  f.number("dark_level", d.dark_level, {0.0, 0.5});
  f.whole("bits", d.bits, {8, 16});
  choice(f, "response", d.response, responses);
  choice(f, "radiopaque", d.radiopaque, opacities);
  choice(f, "display_curve", d.display_curve, curves);
  f.number("display_strength", d.display_strength, {0.1, 20.0});
  f.number("window_low", d.window_low, {-1.0, 5.0});
  f.number("window_high", d.window_high, {0.1, 12.0});
  f.number("sharpen_amount", d.sharpen_amount, {0.0, 5.0});
  f.number("sharpen_radius_mm", d.sharpen_radius_mm, {0.01, 2.0});
  f.number("jpeg_coarseness", d.jpeg_coarseness, {0.0, 10.0});
  f.number("border_mm", d.border_mm, {0.0, 5.0});
}

void read(Fields& f, Jaw& j) {
  f.number("bone_mm", j.bone_mm, {0.0, 30.0});
  f.number("cortical_mm", j.cortical_mm, {0.0, 6.0});
  f.number("crest_mm", j.crest_mm, {-10.0, 25.0});
  f.number("ligament_mm", j.ligament_mm, {0.0, 2.0});
  f.number("lamina_dura_mm", j.lamina_dura_mm, {0.0, 1.5});
  f.number("soft_tissue_mm", j.soft_tissue_mm, {0.0, 40.0});
  f.number("lesion_mm", j.lesion_mm, {0.0, 15.0});
  f.number("texture", j.texture, {0.0, 1.0});
  f.number("texture_exponent", j.texture_exponent, {0.0, 3.0});
  f.number("strands", j.strands, {0.0, 1.0});
  f.number("trabecula_mm", j.trabecula_mm, {0.2, 3.0});
  f.number("patches", j.patches, {0.0, 0.6});
  f.number("patch_mm", j.patch_mm, {1.0, 15.0});
}

void read(Fields& f, Curve& c) {
  f.number("across_mm", c.across_mm, {-20.0, 20.0});
  f.number("along_mm", c.along_mm, {-10.0, 20.0});
  f.number("depth_mm", c.depth_mm, {-8.0, 8.0});
  f.number("splay_deg", c.splay_deg, {-45.0, 45.0});
  f.number("bend_deg", c.bend_deg, {-80.0, 80.0});
  f.number("bend_over_mm", c.bend_over_mm, {1.0, 20.0});
  f.number("bend_azimuth_deg", c.bend_azimuth_deg, {-180.0, 180.0});
}

void read(Fields& f, Root& r) {
  f.object("curve", [&](Fields& c) { read(c, r.curve); });
  f.number("apical_radius_mm", r.apical_radius_mm, {0.2, 4.0});
  f.number("taper", r.taper, {0.0, 0.5});
  f.number("depth_ratio", r.depth_ratio, {0.3, 3.0});
}

void read(Fields& f, Crown& c) {
  f.number("root_length_mm", c.root_length_mm, {3.0, 25.0});
  f.number("height_mm", c.height_mm, {1.0, 15.0});
  f.number("width_mm", c.width_mm, {2.0, 15.0});
  f.number("depth_mm", c.depth_mm, {2.0, 15.0});
  f.number("enamel_mm", c.enamel_mm, {0.0, 3.0});
  f.whole("cusps", c.cusps, {1, 4});
  f.number("trunk_mm", c.trunk_mm, {0.0, 10.0});
}

void read_roots(Fields& f, std::vector<Root>& roots) {
  if (!f.has("roots")) return;
  roots.clear();
  f.list("roots", 1, 4, [&](Fields& r) { read(r, roots.emplace_back()); });
}

void read(Fields& f, Tooth& t) {
  f.text("number", t.number);
  f.number("apex_x", t.apex_x, {0.0, 1.0});
  f.number("apex_y", t.apex_y, {0.0, 1.0});
  f.yes_or_no("upper", t.upper);
  f.number("rotation_deg", t.rotation_deg, {-180.0, 180.0});
  f.number("tilt_deg", t.tilt_deg, {-40.0, 40.0});
  read_roots(f, t.roots);
  f.object("crown", [&](Fields& c) { read(c, t.crown); });
  choice(f, "restoration", t.restoration, restorations);
}

void read(Fields& f, Neighbour& n) {
  f.number("across_mm", n.across_mm, {-40.0, 40.0});
  f.number("along_mm", n.along_mm, {-20.0, 20.0});
  f.number("lean_deg", n.lean_deg, {-60.0, 60.0});
  read_roots(f, n.roots);
  f.object("crown", [&](Fields& c) { read(c, n.crown); });
  choice(f, "restoration", n.restoration, restorations);
}

void read(Fields& f, Fill& fill) {
  f.number("terminus_mm", fill.terminus_mm, {-6.0, 20.0});
  f.number("coronal_mm", fill.coronal_mm, {-5.0, 25.0});
  f.number("tip_diameter_mm", fill.tip_diameter_mm, {0.05, 2.0});
  f.number("taper", fill.taper, {-0.1, 0.3});
  f.number("coronal_depth_ratio", fill.coronal_depth_ratio, {0.3, 3.0});
  choice(f, "tip", fill.tip, tips);
  f.number("tip_rounding", fill.tip_rounding, {0.0, 4.0});
  f.list("breaks", 0, 20, [&](Fields& b) {
    Break& made = fill.breaks.emplace_back();
    b.number("at_mm", made.at_mm, {-6.0, 25.0});
    b.number("step_mm", made.step_mm, {-1.0, 1.0});
    b.number("taper", made.taper, {-0.3, 0.5});
  });
  f.list("defects", 0, 50, [&](Fields& d) {
    Defect& made = fill.defects.emplace_back();
    choice(d, "kind", made.kind, defects);
    d.number("at_mm", made.at_mm, {-6.0, 25.0});
    d.number("length_mm", made.length_mm, {0.01, 10.0});
    d.number("width_mm", made.width_mm, {0.0, 3.0});
    d.number("soft_mm", made.soft_mm, {0.0, 5.0});
    d.number("offset_mm", made.offset_mm, {-2.0, 2.0});
    d.number("azimuth_deg", made.azimuth_deg, {-360.0, 360.0});
    d.number("deficit", made.deficit, {0.0, 1.0});
    choice(d, "content", made.content, materials);
  });
  choice(f, "material", fill.material, materials);
  f.number("opacity", fill.opacity, {0.05, 5.0});
  f.number("uneven", fill.uneven, {0.0, 0.2});
}

void read(Fields& f, Canal& c) {
  f.text("name", c.name);
  f.object("curve", [&](Fields& o) { read(o, c.curve.emplace()); });
  f.number("foramen_mm", c.foramen_mm, {0.0, 1.0});
  f.number("unfilled_taper", c.unfilled_taper, {0.0, 0.3});
  f.object("fill", [&](Fields& o) { read(o, c.fill.emplace()); });
  f.object("file", [&](Fields& o) {
    File& file = c.file.emplace();
    o.number("size", file.size, {6.0, 140.0});
    o.number("length_mm", file.length_mm, {5.0, 31.0});
    o.number("tip_mm", file.tip_mm, {-3.0, 10.0});
    choice(o, "material", file.material, materials);
  });
  f.list("puffs", 0, 20, [&](Fields& o) {
    Puff& puff = c.puffs.emplace_back();
    o.number("along_mm", puff.along_mm, {-7.0, 5.0});
    o.number("across_mm", puff.across_mm, {-5.0, 5.0});
    o.number("length_mm", puff.length_mm, {0.05, 5.0});
    o.number("width_mm", puff.width_mm, {0.05, 5.0});
    o.number("depth_mm", puff.depth_mm, {0.05, 5.0});
    choice(o, "material", puff.material, materials);
  });
  f.object("planned", [&](Fields& o) {
    o.number("tip_diameter_mm", c.planned_tip_mm, {0.05, 2.0});
    o.number("taper", c.planned_taper, {0.0, 0.3});
    o.number("working_length_mm", c.planned_working_length_mm, {1.0, 40.0});
    o.number("backfill_from_mm", c.backfill_from_mm, {0.0, 20.0});
  });
}

void read(Fields& f, Hand& h) {
  f.text("reader", h.reader);
  f.whole("points", h.points, {2, 50});
  f.number("jitter_px", h.jitter_px, {0.0, 30.0});
  f.number("apex_jitter_mm", h.apex_jitter_mm, {0.0, 5.0});
  f.number("apex_uncertainty_mm", h.apex_uncertainty_mm, {0.0, 5.0});
  f.number("path_from_mm", h.path_from_mm, {-5.0, 10.0});
  f.number("path_to_mm", h.path_to_mm, {-5.0, 5.0});
  choice(f, "scale", h.scale, markings);
  f.text("carried_from", h.carried_from);
  f.points("carried_points", 2, h.carried_points);
  f.number("scale_jitter_px", h.scale_jitter_px, {0.0, 30.0});
  f.number("scale_uncertainty_mm", h.scale_uncertainty_mm, {1e-6, 5.0});
}

/// What no single field can say.
void refuse_impossible(const Description& d, const std::string& name) {
  for (std::size_t i = 0; i < d.canals.size(); ++i) {
    if (!d.canals[i].fill) continue;
    const Fill& fill = *d.canals[i].fill;
    const std::string pointer = "/canals/" + std::to_string(i) + "/fill";
    const auto refuse = [&](const std::string& field, const std::string& what, const std::string& remedy) {
      throw Refusal(RefusalKind::unusable_input, name, pointer + field, what, remedy);
    };
    if (fill.coronal_mm < fill.terminus_mm + 1.0)
      refuse("/coronal_mm", "the fill is shorter than 1 mm", "expected at least terminus_mm + 1");
    const double body_from = fill.terminus_mm + 0.75 * fill.tip_diameter_mm * fill.tip_rounding;
    for (std::size_t k = 0; k < fill.breaks.size(); ++k)
      if (fill.breaks[k].at_mm < body_from || fill.breaks[k].at_mm > fill.coronal_mm)
        refuse("/breaks/" + std::to_string(k) + "/at_mm", "the break lies outside the fill",
               "expected a place between the tip's rounding and coronal_mm");
    for (std::size_t k = 0; k < fill.defects.size(); ++k) {
      const Defect& v = fill.defects[k];
      const double half = 0.5 * (v.length_mm + v.soft_mm);
      if (v.at_mm - half < body_from || v.at_mm + half > fill.coronal_mm)
        refuse("/defects/" + std::to_string(k) + "/at_mm", "the void reaches past the fill",
               "expected all of it between the tip's rounding and coronal_mm");
    }
  }
  if (d.hand.scale == ScaleMarking::carried && (d.hand.carried_from.empty() || d.hand.carried_points.empty()))
    throw Refusal(RefusalKind::unusable_input, name, "/reading/scale", "carried from nowhere",
                  "expected carried_from and carried_points beside it");
  if (d.detector.window_low && d.detector.window_high && *d.detector.window_low >= *d.detector.window_high)
    throw Refusal(RefusalKind::unusable_input, name, "/detector/window_high", "not above window_low",
                  "expected the larger attenuation");
}

}  // namespace

Description parse_description(std::string_view json, const std::string& name) {
  nlohmann::json document;
  try {
    document = nlohmann::json::parse(json);
  } catch (const nlohmann::json::exception& e) {
    throw Refusal(RefusalKind::unusable_input, name, "", "not JSON: " + std::string(e.what()),
                  "expected a description, canalrule.phantom/1");
  }
  Fields f(document, name, "");
  std::string schema;
  f.text("schema", schema);
  if (schema != "canalrule.phantom/1")
    throw Refusal(RefusalKind::unusable_input, name, "/schema",
                  schema.empty() ? "missing" : "found " + schema, "expected \"canalrule.phantom/1\"");
  Description d;
  f.seed("seed", d.seed);
  f.text("text", d.text);
  f.object("beam", [&](Fields& o) { read(o, d.beam); });
  f.object("detector", [&](Fields& o) { read(o, d.detector); });
  f.object("jaw", [&](Fields& o) { read(o, d.jaw); });
  f.object("tooth", [&](Fields& o) { read(o, d.tooth); });
  f.list("neighbours", 0, 8, [&](Fields& o) { read(o, d.neighbours.emplace_back()); });
  if (f.has("canals")) {
    d.canals.clear();
    f.list("canals", 1, 8, [&](Fields& o) { read(o, d.canals.emplace_back()); });
  }
  f.object("reading", [&](Fields& o) { read(o, d.hand); });
  f.refuse_unknown();
  refuse_impossible(d, name);
  return d;
}

}  // namespace canalrule::phantom
