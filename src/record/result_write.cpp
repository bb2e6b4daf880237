#include <canalrule/record/result.hpp>

#include <cmath>

#include <canalrule/base/fault.hpp>

#include "json_text.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

using nlohmann::ordered_json;

/// To what a figure is written, by its unit: far finer than any uncertainty, so that nothing is lost, and
/// coarse enough that the last digits of floating point don't show.
enum class Decimals {
  position_px = 3,
  length_mm = 4,
  area_mm2 = 4,
  angle_deg = 3,
  share = 4,
  score = 3,
  grey = 3,
  taper = 5,
  mm_per_pixel = 7,
  aspect = 7,
  ratio = 4,
  probability = 4
};

ordered_json number(double value, Decimals decimals) {
  ensure(std::isfinite(value), "every number of a result is finite");
  const double steps = std::pow(10.0, static_cast<int>(decimals));
  return std::round(value * steps) / steps;
}

ordered_json number_or_null(const std::optional<double>& value, Decimals decimals) {
  return value ? number(*value, decimals) : ordered_json(nullptr);
}

/// A quantity stands as two plain numbers side by side, both null where it is missing.
void put(ordered_json& out, const char* key, const char* uncertainty_key,
         const std::optional<Quantity>& quantity, Decimals decimals) {
  out[key] = quantity ? number(quantity->value, decimals) : ordered_json(nullptr);
  out[uncertainty_key] = quantity ? number(quantity->standard_uncertainty, decimals) : ordered_json(nullptr);
}

ordered_json point_json(const Point& point) {
  return ordered_json::array(
      {number(point.x, Decimals::position_px), number(point.y, Decimals::position_px)});
}

template <class Item, class Write>
ordered_json list(const std::vector<Item>& items, Write write) {
  ordered_json out = ordered_json::array();
  for (const Item& item : items) out.push_back(write(item));
  return out;
}

template <class Item, class Write>
ordered_json or_null(const std::optional<Item>& item, Write write) {
  return item ? write(*item) : ordered_json(nullptr);
}

ordered_json mm(double value) { return number(value, Decimals::length_mm); }

void put_stretch(ordered_json& out, double from_mm, double to_mm) {
  out["from_mm"] = mm(from_mm);
  out["to_mm"] = mm(to_mm);
}

ordered_json note_json(const Note& note) { return {{"code", note.code}, {"text", note.text}}; }

ordered_json not_assessable_json(const NotAssessable& entry) {
  ordered_json out{{"figure", entry.figure}};
  ensure(entry.from_mm.has_value() == entry.to_mm.has_value(), "a stretch has two ends");
  if (entry.from_mm && entry.to_mm) put_stretch(out, *entry.from_mm, *entry.to_mm);
  out["reason"] = entry.reason;
  out["text"] = entry.text;
  return out;
}

ordered_json contribution_json(const ScaleContribution& part) {
  ordered_json out{{"kind", part.kind}, {"text", part.text}};
  put(out, "mm_per_pixel", "standard_uncertainty", part.mm_per_pixel, Decimals::mm_per_pixel);
  out["set_on_film"] = or_null(part.set_on_film, [](const SetOnFilm& set) {
    return ordered_json{{"tip_moved_mm", mm(set.tip_moved_mm)},
                        {"stop_moved_mm", mm(set.stop_moved_mm)},
                        {"points", list(set.points, point_json)}};
  });
  return out;
}

ordered_json scale_json(const ScaleResult& scale) {
  ordered_json out;
  put(out, "mm_per_pixel", "standard_uncertainty", Quantity{scale.mm_per_pixel, scale.standard_uncertainty},
      Decimals::mm_per_pixel);
  out["source"] = scale.source;
  put(out, "mm_per_pixel_across", "standard_uncertainty_across", scale.mm_per_pixel_across,
      Decimals::mm_per_pixel);
  out["row_to_column_aspect"] = number(scale.row_to_column_aspect, Decimals::aspect);
  out["disagreement"] = number_or_null(scale.disagreement, Decimals::ratio);
  put(out, "foreshortening", "foreshortening_standard_uncertainty", scale.foreshortening, Decimals::ratio);
  out["contributions"] = list(scale.contributions, contribution_json);
  return out;
}

ordered_json part_json(const UncertaintyPart& part) {
  ordered_json out{{"source", part.source}, {"standard_uncertainty_mm", mm(part.standard_uncertainty_mm)}};
  if (!part.basis.empty()) out["basis"] = part.basis;
  return out;
}

ordered_json terminus_json(const Terminus& terminus) {
  return {{"position", point_json(terminus.position)},
          {"to_apex_mm", mm(terminus.to_apex_mm)},
          {"standard_uncertainty_mm", mm(terminus.standard_uncertainty_mm)},
          {"side", word_of(terminus.side)},
          {"uncertainty_parts", list(terminus.parts, part_json)}};
}

ordered_json material_json(const MaterialBeyond& material) {
  ordered_json out{{"kind", material.kind}};
  put_stretch(out, material.from_mm, material.to_mm);
  put(out, "length_mm", "length_standard_uncertainty_mm", material.length_mm, Decimals::length_mm);
  put(out, "area_mm2", "area_standard_uncertainty_mm2", material.area_mm2, Decimals::area_mm2);
  out["position"] = point_json(material.position);
  return out;
}

ordered_json empty_canal_json(const EmptyCanal& empty) {
  ordered_json out{{"visible", empty.visible}};
  put_stretch(out, empty.from_mm, empty.to_mm);
  out["score"] = number(empty.score, Decimals::score);
  return out;
}

ordered_json root_end_json(const RootEnd& end) {
  ordered_json out = ordered_json::object();
  put(out, "to_apex_mm", "standard_uncertainty_mm", end.to_apex_mm, Decimals::length_mm);
  out["score"] = number(end.score, Decimals::score);
  out["position"] = point_json(end.position);
  return out;
}

ordered_json void_json(const Void& found) {
  ordered_json out = ordered_json::object();
  put_stretch(out, found.from_mm, found.to_mm);
  put(out, "length_mm", "length_standard_uncertainty_mm", found.length_mm, Decimals::length_mm);
  put(out, "deficit", "deficit_standard_uncertainty", found.deficit, Decimals::share);
  out["score"] = number(found.score, Decimals::score);
  put(out, "width_mm", "width_standard_uncertainty_mm", found.width_mm, Decimals::length_mm);
  out["kind"] = word_of(void_kind_words, found.kind);
  out["third"] = word_of(third_words, found.third);
  out["position"] = point_json(found.position);
  out["at_backfill"] = found.at_backfill;
  return out;
}

ordered_json width_json(const WidthAt& width) {
  return {{"at_mm", mm(width.at_mm)},
          {"width_mm", mm(width.width_mm)},
          {"standard_uncertainty_mm", mm(width.standard_uncertainty_mm)}};
}

ordered_json break_json(const TaperBreak& found) {
  ordered_json out{{"at_mm", mm(found.at_mm)}, {"kind", found.kind}};
  put(out, "step_mm", "step_standard_uncertainty_mm", found.step_mm, Decimals::length_mm);
  out["score"] = number(found.score, Decimals::score);
  return out;
}

ordered_json reversal_json(const Reversal& reversal) {
  ordered_json out = ordered_json::object();
  put(out, "narrowing_mm", "narrowing_standard_uncertainty_mm", reversal.narrowing_mm, Decimals::length_mm);
  put_stretch(out, reversal.from_mm, reversal.to_mm);
  return out;
}

ordered_json taper_json(const Taper& taper) {
  ordered_json out;
  ordered_json uncertainty;
  const auto put_part = [&](const char* name, const std::optional<Quantity>& part) {
    out[name] = part ? number(part->value, Decimals::taper) : ordered_json(nullptr);
    uncertainty[name] = part ? number(part->standard_uncertainty, Decimals::taper) : ordered_json(nullptr);
  };
  put_part("overall", taper.overall);
  put_part("apical", taper.apical);
  put_part("middle", taper.middle);
  put_part("coronal", taper.coronal);
  out["standard_uncertainty"] = uncertainty;
  out["breaks"] = list(taper.breaks, break_json);
  out["largest_reversal"] = or_null(taper.largest_reversal, reversal_json);
  return out;
}

ordered_json width_difference_json(const AgainstPlan::WidthDifference& width) {
  return {{"at_mm", mm(width.at_mm)},
          {"planned_mm", mm(width.planned_mm)},
          {"difference_mm", mm(width.difference_mm)},
          {"standard_uncertainty_mm", mm(width.standard_uncertainty_mm)}};
}

ordered_json plan_json(const AgainstPlan& plan) {
  ordered_json out;
  put(out, "mean_width_difference_mm", "mean_width_difference_standard_uncertainty_mm",
      plan.mean_width_difference_mm, Decimals::length_mm);
  put(out, "fill_length_from_reference_mm", "fill_length_from_reference_standard_uncertainty_mm",
      plan.fill_length_from_reference_mm, Decimals::length_mm);
  put(out, "terminus_to_working_length_mm", "terminus_to_working_length_standard_uncertainty_mm",
      plan.terminus_to_working_length_mm, Decimals::length_mm);
  out["gap_at_backfill"] = plan.gap_at_backfill ? ordered_json(*plan.gap_at_backfill) : ordered_json(nullptr);
  out["width"] = list(plan.width, width_difference_json);
  return out;
}

ordered_json centre_json(const CentreAt& centre) {
  return {{"at_mm", mm(centre.at_mm)},
          {"position", point_json(centre.position)},
          {"half_width_px", number_or_null(centre.half_width_px, Decimals::position_px)}};
}

ordered_json canal_film_json(const CanalFilm& film) {
  return {{"contrast_to_texture", number_or_null(film.contrast_to_texture, Decimals::ratio)},
          {"blur_mm", number_or_null(film.blur_mm, Decimals::length_mm)},
          {"bone_beyond_apex_mm", number_or_null(film.bone_beyond_apex_mm, Decimals::length_mm)}};
}

ordered_json canal_json(const CanalResult& canal) {
  ordered_json out{{"name", canal.name}};
  out["terminus"] = or_null(canal.terminus, terminus_json);
  put(out, "coronal_level_mm", "coronal_level_standard_uncertainty_mm", canal.coronal_level_mm,
      Decimals::length_mm);
  put(out, "filled_length_mm", "filled_length_standard_uncertainty_mm", canal.filled_length_mm,
      Decimals::length_mm);
  out["voids"] = or_null(canal.voids, [](const std::vector<Void>& voids) { return list(voids, void_json); });
  out["width"] = list(canal.width, width_json);
  out["taper"] = taper_json(canal.taper);
  out["not_assessable"] = list(canal.not_assessable, not_assessable_json);
  out["warnings"] = list(canal.warnings, note_json);
  out["material_beyond_apex"] = list(canal.material_beyond_apex, material_json);
  out["empty_canal"] = or_null(canal.empty_canal, empty_canal_json);
  out["root_end"] = or_null(canal.root_end, root_end_json);
  put(out, "curvature_deg", "curvature_standard_uncertainty_deg", canal.curvature_deg, Decimals::angle_deg);
  out["against_plan"] = plan_json(canal.against_plan);
  out["film"] = canal_film_json(canal.film);
  out["drawn_path"] = list(canal.drawn_path, point_json);
  out["centre_line"] = list(canal.centre_line, centre_json);
  return out;
}

ordered_json film_json(const FilmQuality& film) {
  return {{"columns", film.columns},
          {"rows", film.rows},
          {"format", film.format},
          {"bits_stored", film.bits_stored},
          {"response", film.response},
          {"response_source", film.response_source},
          {"radiopaque", film.radiopaque},
          {"radiopaque_source", film.radiopaque_source},
          {"noise_grey", number(film.noise_grey, Decimals::grey)},
          {"clipped_share", number(film.clipped_share, Decimals::share)},
          {"blur_mm", number_or_null(film.blur_mm, Decimals::length_mm)},
          {"halo_share", number_or_null(film.halo_share, Decimals::share)}};
}

ordered_json provenance_json(const Provenance& from) {
  return {{"program", from.program},           {"opencv", from.opencv},
          {"image_file", from.image_file},     {"image_sha256", from.image_sha256},
          {"reading_file", from.reading_file}, {"reading_sha256", from.reading_sha256},
          {"reader", from.reader},             {"tooth", from.tooth}};
}

ordered_json judgement_json(const Judgement& judgement) {
  ordered_json out{
      {"canal", judgement.canal},
      {"criterion", judgement.criterion},
      {"text", judgement.text},
      {"limit", judgement.limit},
      {"verdict", word_of(judgement.verdict)},
      {"probability_within", number_or_null(judgement.probability_within, Decimals::probability)}};
  put(out, "figure", "standard_uncertainty", judgement.figure,
      judgement.unit == "mm" ? Decimals::length_mm : Decimals::taper);
  out["unit"] = judgement.unit;
  out["reason"] = judgement.reason;
  return out;
}

ordered_json judged_json(const Judged& judged) {
  return {{"criteria",
           {{"name", judged.criteria_name},
            {"version", judged.criteria_version},
            {"source", judged.criteria_source}}},
          {"judgements", list(judged.judgements, judgement_json)}};
}

}  // namespace

std::string_view word_of(Verdict verdict) { return word_of(verdict_words, verdict); }

std::string_view word_of(Side side) { return word_of(side_words, side); }

std::string write_result(const Result& result) {
  ordered_json out;
  out["schema"] = "canalrule.result/1";
  out["scale"] = scale_json(result.scale);
  out["canals"] = list(result.canals, canal_json);
  out["warnings"] = list(result.warnings, note_json);
  out["verdicts"] = or_null(result.judged, judged_json);
  out["film"] = film_json(result.film);
  out["provenance"] = provenance_json(result.provenance);
  out["cautions"] = result.cautions;
  return write_json(out);
}

}  // namespace canalrule
