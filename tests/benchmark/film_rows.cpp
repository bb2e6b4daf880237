#include "film_rows.hpp"

#include <algorithm>
#include <cmath>
#include <ctime>
#include <measured.hpp>
#include <utility>

#include "bounds.hpp"
#include "observers.hpp"

namespace canalrule_benchmark {

using namespace canalrule;
using nlohmann::json;

namespace {

constexpr double place_margin_mm = 0.15;  // a gap counts as placed within this of the true one; chosen here

json pair(double error, double uncertainty) {
  const auto short_of = [](double v) { return std::round(v * 1e5) / 1e5; };
  return json::array({short_of(error), short_of(uncertainty)});
}

void add_taper(json& into, const char* name, const std::optional<Quantity>& q, double truth) {
  if (q) into[name] = pair(q->value - truth, q->standard_uncertainty);
}

const char* kind_name(phantom::DefectKind kind) {
  return kind == phantom::DefectKind::across ? "across" : kind == phantom::DefectKind::inside ? "inside" : "wall";
}

/// Each void that was found, with its errors where it lies on a true one. Of several on one, that which fits it best
/// (what both cover over what either covers) is held against it; the others are marked "again".
json gaps_of(const CanalResult& got, const phantom::TrueCanal& truth) {
  json found = json::array();
  const auto covers = [](const Void& v, const phantom::TrueVoid& real) {
    return std::min(v.to_mm, real.to_mm) - std::max(v.from_mm, real.from_mm);
  };
  const auto fits = [&](const Void& v, const phantom::TrueVoid& real) {
    return covers(v, real) / (std::max(v.to_mm, real.to_mm) - std::min(v.from_mm, real.from_mm));
  };
  for (const Void& v : *got.voids) {
    json one = {{"score", std::round(v.score * 100.0) / 100.0}, {"hit", false}, {"at", 0.5 * (v.from_mm + v.to_mm)}};
    for (const phantom::TrueVoid& real : truth.voids) {
      if (covers(v, real) < -place_margin_mm) continue;
      one["hit"] = true;
      for (const Void& other : *got.voids)
        if (fits(other, real) > fits(v, real)) one["again"] = true;
      one["place"] = 0.5 * (v.from_mm + v.to_mm) - 0.5 * (real.from_mm + real.to_mm);
      one["length"] = pair(v.length_mm.value - real.length_mm, v.length_mm.standard_uncertainty);
      const double deficit = v.kind == VoidKind::across ? real.deficit_section : real.deficit_point;
      one["deficit"] = pair(v.deficit.value - deficit, v.deficit.standard_uncertainty);
    }
    found.push_back(one);
  }
  return found;
}

json breaks_of(const CanalResult& got, const phantom::TrueCanal& truth) {
  constexpr double near_mm = 0.4, least_narrowing_mm = 0.05;
  int hit = 0, wrong = 0;
  std::vector<bool> met(truth.breaks.size(), false);
  json out = json::object();
  for (const TaperBreak& b : got.taper.breaks) {
    bool any = false;
    for (std::size_t t = 0; t < truth.breaks.size(); ++t) {
      if (std::abs(truth.breaks[t].at_mm - b.at_mm) >= near_mm) continue;
      any = met[t] = true;
      if (b.kind == "step") out["step"] = pair(b.step_mm.value - truth.breaks[t].step_mm, b.step_mm.standard_uncertainty);
    }
    wrong += any ? 0 : 1;
  }
  for (const bool m : met) hit += m ? 1 : 0;
  out["true"] = truth.breaks.size();
  out["hit"] = hit;
  out["false"] = wrong;
  if (const auto& reversal = got.taper.largest_reversal; reversal && truth.narrowing_mm >= least_narrowing_mm)
    out["narrowing"] = pair(reversal->narrowing_mm.value - truth.narrowing_mm, reversal->narrowing_mm.standard_uncertainty);
  return out;
}

json canal_row(const CanalResult& got, const phantom::TrueCanal& truth) {
  json row = {{"name", got.name}, {"contrast", truth.contrast_per_mm}, {"texture", truth.flank_texture}};
  json warned = json::array();
  for (const Note& note : got.warnings) warned.push_back(note.code);
  row["warnings"] = warned;
  for (const auto& v : truth.voids)
    row["gaps"].push_back({{"kind", kind_name(v.kind)}, {"length", v.length_mm}, {"deficit", v.deficit_section}});
  // A fill whose end isn't told may have voids all the same.
  if (got.voids) row["found"] = gaps_of(got, truth);
  if (!got.terminus) {
    row["refused"] = got.not_assessable.empty() ? std::string("unknown") : got.not_assessable.front().reason;
    for (const NotAssessable& why : got.not_assessable)
      if (why.figure == "terminus") row["refused"] = why.reason;
    return row;
  }
  const Terminus& t = *got.terminus;
  double own2 = 0.0, scale2 = 0.0;
  for (const UncertaintyPart& part : t.parts) {
    const double u2 = part.standard_uncertainty_mm * part.standard_uncertainty_mm;
    if (part.source == "outline" || part.source == "path") own2 += u2;
    if (part.source == "scale" || part.source == "view") scale2 += u2;
  }
  // The simulated scale is exact: what of a length's uncertainty comes of it is left out.
  const double of_scale = std::sqrt(scale2) / std::abs(t.to_apex_mm);
  const auto own = [of_scale](double length_mm, double uncertainty_mm) {
    return std::sqrt(std::max(0.0, uncertainty_mm * uncertainty_mm - std::pow(length_mm * of_scale, 2)));
  };
  row["terminus"] = pair(t.to_apex_mm - truth.terminus_to_apex_mm, std::sqrt(own2));
  if (got.coronal_level_mm)
    row["coronal"] = pair(got.coronal_level_mm->value - truth.coronal_level_mm,
                          own(got.coronal_level_mm->value, got.coronal_level_mm->standard_uncertainty));
  json widths = json::array();
  for (const WidthAt& w : got.width) {
    const double real = canalrule_test::true_width(truth, w.at_mm);
    if (!std::isnan(real)) widths.push_back(pair(w.width_mm - real, own(w.width_mm, w.standard_uncertainty_mm)));
  }
  row["width"] = widths;
  row["taper"] = json::object();
  add_taper(row["taper"], "overall", got.taper.overall, truth.taper_overall);
  add_taper(row["taper"], "apical", got.taper.apical, truth.taper_apical);
  add_taper(row["taper"], "middle", got.taper.middle, truth.taper_middle);
  add_taper(row["taper"], "coronal", got.taper.coronal, truth.taper_coronal);
  row["breaks"] = breaks_of(got, truth);
  return row;
}

}  // namespace

bool is_flag(const std::string& code) { return code != "deficit-ordinal"; }

json film_row(const Part& part, std::uint64_t seed, int member) {
  const phantom::Description description = part.draw(part, seed, member);
  const phantom::Simulated simulated = phantom::simulate(description);
  const Case opened = canalrule_test::case_of(simulated);
  const std::clock_t start = std::clock();
  const Result result = measure(opened);
  json row = {{"seed", seed}, {"member", member}, {"response", simulated.truth.response},
              {"ms", std::round(1e4 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC) / 10.0}};
  row["canals"] = json::array();
  for (std::size_t c = 0; c < result.canals.size(); ++c)
    if (simulated.truth.canals[c].filled)
      row["canals"].push_back(canal_row(result.canals[c], simulated.truth.canals[c]));
  return row;
}

json limits_row(const Part& part, std::uint64_t seed) {
  const phantom::Description description = part.draw(part, seed, 0);
  json row = {{"seed", seed}, {"member", 0}};
  if (description.canals.size() != 1) return row;
  if (part.limits == Limits::bounds) {
    const Bounds b = bounds_of(description);
    row["bounds"] = {{"terminus", b.terminus_mm}, {"width", b.width_mm}, {"straight", b.straight_width_mm}, {"taper", b.taper}};
  }
  if (part.limits == Limits::gap) {
    const phantom::Defect& gap = description.canals.front().fill->defects.front();
    const Observed observed = observe(description);
    for (const auto& [name, seen] : {std::pair{"ideal", observed.ideal}, {"learning", observed.learning}})
      row[name] = {{"score", seen.score}, {"without", seen.without_gap}, {"distinct", seen.distinctness},
                   {"placed", std::abs(seen.at_mm - gap.at_mm) < 0.5 * gap.length_mm + place_margin_mm}};
    if (gap.kind == phantom::DefectKind::across && part.family != "hard") {
      const GapBounds b = gap_bounds_of(description);
      row["bounds"] = {{"place", b.place_mm}, {"length", b.length_mm}, {"deficit", b.deficit}};
    }
  }
  return row;
}

}  // namespace canalrule_benchmark
