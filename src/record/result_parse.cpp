#include <canalrule/record/result.hpp>

#include "fields.hpp"
#include "json_text.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

constexpr Range share{0.0, 1.0};

template <class Read>
auto list(const Field& field, Read read) -> std::vector<decltype(read(field))> {
  std::vector<decltype(read(field))> out;
  for (const Field& item : field.items()) out.push_back(read(item));
  return out;
}

template <class Read>
auto or_missing(const Field& owner, std::string_view key, Read read) -> std::optional<decltype(read(owner))> {
  const Field field = owner[key];
  if (field.is_null()) return std::nullopt;
  return read(field);
}

std::optional<double> number_or_missing(const Field& owner, std::string_view key,
                                        const Range& range = any_number) {
  return or_missing(owner, key, [&](const Field& field) { return field.number(range); });
}

double number(const Field& owner, std::string_view key) { return owner[key].number(any_number); }

Quantity quantity(const Field& owner, std::string_view key, std::string_view uncertainty_key) {
  return {number(owner, key), owner[uncertainty_key].number(not_negative)};
}

/// The uncertainty of a figure that is missing.
void expect_null(const Field& uncertainty) {
  if (!uncertainty.is_null()) uncertainty.refuse("null, as its figure is null");
}

std::optional<Quantity> quantity_or_missing(const Field& owner, std::string_view key,
                                            std::string_view uncertainty_key) {
  if (!owner[key].is_null()) return quantity(owner, key, uncertainty_key);
  expect_null(owner[uncertainty_key]);
  return std::nullopt;
}

std::string text(const Field& field) { return field.text(); }
Point point(const Field& field) { return field.point(); }

Note note(const Field& field) { return {field["code"].text(), field["text"].text()}; }

NotAssessable not_assessable(const Field& field) {
  NotAssessable entry;
  entry.figure = field["figure"].text();
  if (field.find("from_mm") || field.find("to_mm")) {
    entry.from_mm = number(field, "from_mm");
    entry.to_mm = number(field, "to_mm");
  }
  entry.reason = field["reason"].text();
  entry.text = field["text"].text();
  return entry;
}

/// Fields that results of the first versions of the program don't have.
template <class Read>
auto if_there(const Field& owner, std::string_view key, Read read) -> std::optional<decltype(read(owner))> {
  const std::optional<Field> field = owner.find(key);
  if (!field || field->is_null()) return std::nullopt;
  return read(*field);
}

SetOnFilm set_on_film(const Field& field) {
  return {number(field, "tip_moved_mm"), number(field, "stop_moved_mm"), list(field["points"], point)};
}

ScaleContribution contribution(const Field& field) {
  return {field["kind"].text(), field["text"].text(), quantity(field, "mm_per_pixel", "standard_uncertainty"),
          if_there(field, "set_on_film", set_on_film)};
}

ScaleResult scale_result(const Field& field) {
  ScaleResult scale;
  scale.mm_per_pixel = field["mm_per_pixel"].number(positive);
  scale.standard_uncertainty = field["standard_uncertainty"].number(not_negative);
  scale.source = field["source"].text();
  scale.mm_per_pixel_across =
      quantity_or_missing(field, "mm_per_pixel_across", "standard_uncertainty_across");
  scale.row_to_column_aspect = field["row_to_column_aspect"].number(positive);
  scale.disagreement = number_or_missing(field, "disagreement", not_negative);
  if (field.find("foreshortening"))
    scale.foreshortening =
        quantity_or_missing(field, "foreshortening", "foreshortening_standard_uncertainty");
  scale.contributions = list(field["contributions"], contribution);
  return scale;
}

UncertaintyPart part(const Field& field) {
  return {field["source"].text(), field["standard_uncertainty_mm"].number(not_negative),
          if_there(field, "basis", text).value_or("")};
}

RootEnd root_end(const Field& field) {
  return {quantity(field, "to_apex_mm", "standard_uncertainty_mm"), number(field, "score"),
          field["position"].point()};
}

Terminus terminus(const Field& field) {
  return {field["position"].point(), number(field, "to_apex_mm"),
          field["standard_uncertainty_mm"].number(not_negative), field["side"].word(side_words),
          list(field["uncertainty_parts"], part)};
}

MaterialBeyond material(const Field& field) {
  return {field["kind"].text(), number(field, "from_mm"), number(field, "to_mm"),
          quantity(field, "length_mm", "length_standard_uncertainty_mm"),
          quantity(field, "area_mm2", "area_standard_uncertainty_mm2"), field["position"].point()};
}

EmptyCanal empty_canal(const Field& field) {
  return {field["visible"].truth(), number(field, "from_mm"), number(field, "to_mm"), number(field, "score")};
}

Void one_void(const Field& field) {
  Void found;
  found.from_mm = number(field, "from_mm");
  found.to_mm = number(field, "to_mm");
  found.length_mm = quantity(field, "length_mm", "length_standard_uncertainty_mm");
  found.width_mm = quantity(field, "width_mm", "width_standard_uncertainty_mm");
  found.deficit = quantity(field, "deficit", "deficit_standard_uncertainty");
  found.score = number(field, "score");
  found.kind = field["kind"].word(void_kind_words);
  found.third = field["third"].word(third_words);
  found.position = field["position"].point();
  found.at_backfill = field["at_backfill"].truth();
  return found;
}

WidthAt width(const Field& field) {
  return {number(field, "at_mm"), field["width_mm"].number(not_negative),
          field["standard_uncertainty_mm"].number(not_negative)};
}

TaperBreak taper_break(const Field& field) {
  return {number(field, "at_mm"), field["kind"].text(),
          quantity(field, "step_mm", "step_standard_uncertainty_mm"), number(field, "score")};
}

Reversal reversal(const Field& field) {
  return {quantity(field, "narrowing_mm", "narrowing_standard_uncertainty_mm"), number(field, "from_mm"),
          number(field, "to_mm")};
}

Taper taper(const Field& field) {
  const Field uncertainty = field["standard_uncertainty"];
  const auto third = [&](std::string_view name) -> std::optional<Quantity> {
    if (!field[name].is_null()) return Quantity{number(field, name), uncertainty[name].number(not_negative)};
    expect_null(uncertainty[name]);
    return std::nullopt;
  };
  return {third("overall"), third("apical"), third("middle"), third("coronal"),
          list(field["breaks"], taper_break), or_missing(field, "largest_reversal", reversal)};
}

AgainstPlan::WidthDifference width_difference(const Field& field) {
  return {number(field, "at_mm"), number(field, "planned_mm"), number(field, "difference_mm"),
          field["standard_uncertainty_mm"].number(not_negative)};
}

AgainstPlan against_plan(const Field& field) {
  AgainstPlan plan;
  plan.width = list(field["width"], width_difference);
  plan.mean_width_difference_mm = quantity_or_missing(field, "mean_width_difference_mm",
                                                      "mean_width_difference_standard_uncertainty_mm");
  plan.fill_length_from_reference_mm = quantity_or_missing(
      field, "fill_length_from_reference_mm", "fill_length_from_reference_standard_uncertainty_mm");
  plan.terminus_to_working_length_mm = quantity_or_missing(
      field, "terminus_to_working_length_mm", "terminus_to_working_length_standard_uncertainty_mm");
  plan.gap_at_backfill = or_missing(field, "gap_at_backfill", [](const Field& gap) { return gap.truth(); });
  return plan;
}

CentreAt centre(const Field& field) {
  return {number(field, "at_mm"), field["position"].point(),
          number_or_missing(field, "half_width_px", not_negative)};
}

CanalFilm canal_film(const Field& field) {
  return {number_or_missing(field, "contrast_to_texture"), number_or_missing(field, "blur_mm", not_negative),
          number_or_missing(field, "bone_beyond_apex_mm")};
}

CanalResult canal_result(const Field& field) {
  CanalResult canal;
  canal.name = field["name"].text();
  canal.terminus = or_missing(field, "terminus", terminus);
  canal.coronal_level_mm =
      quantity_or_missing(field, "coronal_level_mm", "coronal_level_standard_uncertainty_mm");
  canal.filled_length_mm =
      quantity_or_missing(field, "filled_length_mm", "filled_length_standard_uncertainty_mm");
  canal.material_beyond_apex = list(field["material_beyond_apex"], material);
  canal.empty_canal = or_missing(field, "empty_canal", empty_canal);
  canal.root_end = if_there(field, "root_end", root_end);
  canal.voids = or_missing(field, "voids", [](const Field& voids) { return list(voids, one_void); });
  canal.width = list(field["width"], width);
  canal.taper = taper(field["taper"]);
  canal.curvature_deg = quantity_or_missing(field, "curvature_deg", "curvature_standard_uncertainty_deg");
  canal.against_plan = against_plan(field["against_plan"]);
  canal.film = canal_film(field["film"]);
  canal.drawn_path = list(field["drawn_path"], point);
  canal.centre_line = list(field["centre_line"], centre);
  canal.not_assessable = list(field["not_assessable"], not_assessable);
  canal.warnings = list(field["warnings"], note);
  return canal;
}

FilmQuality film_quality(const Field& field) {
  FilmQuality film;
  film.columns = field["columns"].integer(0, 100'000'000);
  film.rows = field["rows"].integer(0, 100'000'000);
  film.format = field["format"].text();
  film.bits_stored = field["bits_stored"].integer(0, 32);
  film.response = field["response"].text();
  film.response_source = field["response_source"].text();
  film.radiopaque = field["radiopaque"].text();
  film.radiopaque_source = field["radiopaque_source"].text();
  film.noise_grey = field["noise_grey"].number(not_negative);
  film.clipped_share = field["clipped_share"].number(share);
  film.blur_mm = number_or_missing(field, "blur_mm", not_negative);
  film.halo_share = number_or_missing(field, "halo_share");
  return film;
}

Provenance provenance(const Field& field) {
  return {field["program"].text(),      field["opencv"].text(),         field["image_file"].text(),
          field["image_sha256"].text(), field["reading_file"].text(),   field["reading_sha256"].text(),
          field["reader"].text(),       field["tooth"].text()};
}

Judgement judgement(const Field& field) {
  Judgement out;
  out.canal = field["canal"].text();
  out.criterion = field["criterion"].text();
  out.text = field["text"].text();
  if (const std::optional<Field> limit = field.find("limit")) out.limit = limit->text();
  out.verdict = field["verdict"].word(verdict_words);
  out.probability_within = number_or_missing(field, "probability_within", share);
  out.figure = quantity_or_missing(field, "figure", "standard_uncertainty");
  out.unit = field["unit"].text();
  out.reason = field["reason"].text();
  return out;
}

Judged judged(const Field& field) {
  const Field criteria = field["criteria"];
  return {criteria["name"].text(), criteria["version"].text(), criteria["source"].text(),
          list(field["judgements"], judgement)};
}

}  // namespace

Result parse_result(std::string_view json, const std::string& name) {
  const nlohmann::json document = parse_json(json, name);
  const Field root(document, name);
  root.expect_schema("canalrule.result/1");
  Result result;
  result.scale = scale_result(root["scale"]);
  result.canals = list(root["canals"], canal_result);
  result.warnings = list(root["warnings"], note);
  result.judged = or_missing(root, "verdicts", judged);
  result.film = film_quality(root["film"]);
  result.provenance = provenance(root["provenance"]);
  result.cautions = list(root["cautions"], text);
  return result;
}

}  // namespace canalrule
