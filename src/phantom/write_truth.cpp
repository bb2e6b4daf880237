#include <cmath>
#include <string>

#include <nlohmann/json.hpp>

#include <canalrule/phantom/simulate.hpp>

namespace canalrule::phantom {

namespace {

using Json = nlohmann::ordered_json;

/// To a millionth: finer than any truth here means, and the same on every machine.
double shown(double v) {
  const double r = std::round(v * 1e6) / 1e6;
  return r == 0.0 ? 0.0 : r;
}

Json point(Point p) { return Json::array({shown(p.x), shown(p.y)}); }

std::string kind_name(DefectKind kind) {
  switch (kind) {
    case DefectKind::across: return "across";
    case DefectKind::inside: return "inside";
    case DefectKind::along_wall: return "along-wall";
  }
  return "";
}

/// Puts each list that holds nothing but numbers on one line.
std::string close_up(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    out += text[i];
    if (text[i] != '[') continue;
    const std::size_t end = text.find_first_not_of("0123456789+-.eE, \n", i + 1);
    if (end == std::string::npos || text[end] != ']') continue;
    for (++i; i < end; ++i)
      if (text[i] != '\n' && text[i] != ' ')
        out += text[i] == ',' ? std::string(", ") : std::string(1, text[i]);
    out += ']';
  }
  return out;
}

Json canal_json(const TrueCanal& c) {
  Json j;
  j["name"] = c.name;
  j["apex"] = point(c.apex);
  j["bend_deg"] = shown(c.bend_deg);
  if (c.file)
    j["file"] = {{"tip", point(c.file->tip)},
                 {"stop", point(c.file->stop)},
                 {"length_mm", shown(c.file->length_mm)},
                 {"film_px", shown(c.file->film_px)}};
  if (c.filled) {
    j["terminus"] = {{"position", point(c.terminus)}, {"to_apex_mm", shown(c.terminus_to_apex_mm)}};
    j["coronal_level_mm"] = shown(c.coronal_level_mm);
    j["filled_length_mm"] = shown(c.filled_length_mm);
    j["taper"] = {{"overall", shown(c.taper_overall)},
                  {"apical", shown(c.taper_apical)},
                  {"middle", shown(c.taper_middle)},
                  {"coronal", shown(c.taper_coronal)}};
    Json breaks = Json::array();
    for (const TrueBreak& b : c.breaks)
      breaks.push_back({{"at_mm", shown(b.at_mm)},
                        {"step_mm", shown(b.step_mm)},
                        {"taper_change", shown(b.taper_change)}});
    j["breaks"] = breaks;
    j["narrowing_mm"] = shown(c.narrowing_mm);
    Json voids = Json::array();
    for (const TrueVoid& v : c.voids)
      voids.push_back({{"kind", kind_name(v.kind)},
                       {"from_mm", shown(v.from_mm)},
                       {"to_mm", shown(v.to_mm)},
                       {"length_mm", shown(v.length_mm)},
                       {"width_mm", shown(v.width_mm)},
                       {"deficit_section", shown(v.deficit_section)},
                       {"deficit_point", shown(v.deficit_point)},
                       {"position", point(v.position)}});
    j["voids"] = voids;
    Json overlaps = Json::array();
    for (const TrueOverlap& o : c.overlaps)
      overlaps.push_back({{"with", o.with}, {"from_mm", shown(o.from_mm)}, {"to_mm", shown(o.to_mm)}});
    j["overlaps"] = overlaps;
    j["contrast_per_mm"] = shown(c.contrast_per_mm);
    j["flank"] = {{"attenuation", shown(c.flank_attenuation)},
                  {"texture", shown(c.flank_texture)},
                  {"noise", shown(c.flank_noise)}};
  }
  Json beyond = Json::array();
  for (const TrueMaterialBeyond& m : c.material_beyond_apex)
    beyond.push_back({{"kind", m.kind},
                      {"from_mm", shown(m.from_mm)},
                      {"to_mm", shown(m.to_mm)},
                      {"length_mm", shown(m.length_mm)},
                      {"area_mm2", shown(m.area_mm2)},
                      {"position", point(m.position)}});
  j["material_beyond_apex"] = beyond;
  Json width = Json::array();
  for (const TrueWidth& w : c.width) width.push_back(Json::array({shown(w.at_mm), shown(w.width_mm)}));
  j["width"] = width;
  Json centre = Json::array();
  for (const TrueCentre& p : c.centre_line)
    centre.push_back(Json::array({shown(p.at_mm), shown(p.position.x), shown(p.position.y)}));
  j["centre_line"] = centre;
  return j;
}

}  // namespace

std::string write_truth(const Truth& t) {
  Json j;
  j["schema"] = "canalrule.truth/1";
  j["seed"] = t.seed;
  j["mm_per_pixel"] = shown(t.mm_per_pixel);
  j["mm_per_pixel_across"] = shown(t.mm_per_pixel_across);
  j["magnification"] = shown(t.magnification);
  j["blur_mm"] = shown(t.blur_mm);
  j["texture"] = shown(t.texture);
  j["scatter_to_primary"] = shown(t.scatter_to_primary);
  j["photons_per_pixel"] = shown(t.photons_per_pixel);
  j["response"] = t.response;
  j["radiopaque"] = t.radiopaque;
  j["bits"] = t.bits;
  j["window"] = Json::array({shown(t.window_low), shown(t.window_high)});
  j["clipped_share"] = shown(t.clipped_share);
  j["landmarks"] = {{"apex", point(t.apex)}, {"cusp", point(t.cusp)}};
  Json canals = Json::array();
  for (const TrueCanal& c : t.canals) canals.push_back(canal_json(c));
  j["canals"] = canals;
  return close_up(j.dump(1)) + "\n";
}

}  // namespace canalrule::phantom
