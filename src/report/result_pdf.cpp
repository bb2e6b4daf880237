#include <canalrule/report/document.hpp>
#include <canalrule/report/report.hpp>

#include <canalrule/report/scene.hpp>
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule {
namespace {

using namespace report;

constexpr auto figure = Column::Holds::figure;

Result without_identity(Result result) {
  result.provenance.image_file.clear();
  result.provenance.image_sha256.clear();
  result.provenance.reading_file.clear();
  result.provenance.reading_sha256.clear();
  result.provenance.reader.clear();
  return result;
}

/// "not assessable" where a reason is on record (it stands further down), else "–".
std::string missing(const CanalResult& canal, std::string_view name) {
  return why_missing(canal, name) != nullptr ? "not assessable" : std::string(unknown);
}

Table figures_table(const CanalResult& canal) {
  Table table{
      "Figures of canal " + canal.name + ", ± k = 2", {{"Figure"}, {"Value", figure}, {"Unit"}}, {}, ""};
  const auto add = [&](const char* name, const std::optional<Quantity>& value, const char* path, int decimals,
                       const char* unit) {
    table.rows.push_back(
        {name, value ? plus_minus(*value, decimals) : missing(canal, path), value ? unit : " "});
  };
  const auto terminus =
      canal.terminus
          ? std::optional<Quantity>({canal.terminus->to_apex_mm, canal.terminus->standard_uncertainty_mm})
          : std::nullopt;
  add("End of the fill, short of the radiographic apex (beyond it < 0)", terminus, "terminus", 2, "mm");
  add("Length of the fill", canal.filled_length_mm, "filled_length_mm", 2, "mm");
  add("Coronal level, from the apex", canal.coronal_level_mm, "coronal_level_mm", 2, "mm");
  add("Taper, overall", canal.taper.overall, "taper.overall", 3, "mm per mm");
  add("Taper, apical third", canal.taper.apical, "taper.apical", 3, "mm per mm");
  add("Taper, middle third", canal.taper.middle, "taper.middle", 3, "mm per mm");
  add("Taper, coronal third", canal.taper.coronal, "taper.coronal", 3, "mm per mm");
  if (const auto& reversal = canal.taper.largest_reversal)
    add("Largest narrowing towards the crown", reversal->narrowing_mm, "", 2, "mm");
  const AgainstPlan& plan = canal.against_plan;
  if (plan.mean_width_difference_mm)
    add("Mean width, measured minus planned", plan.mean_width_difference_mm, "", 2, "mm");
  if (plan.terminus_to_working_length_mm)
    add("End of the fill, short of the working length", plan.terminus_to_working_length_mm, "", 2, "mm");
  add("Curvature (Schneider)", canal.curvature_deg, "curvature_deg", 0, "°");
  return table;
}

Table voids_table(const CanalResult& canal) {
  Table table{"Voids of canal " + canal.name,
              {{"Number"},
               {"From apex, mm", figure},
               {"Third"},
               {"Kind"},
               {"Long, mm", figure},
               {"Wide, mm", figure},
               {"Deficit", figure},
               {"Score, sd", figure}},
              {},
              canal.voids ? "none found." : missing(canal, "voids") + "."};
  if (!canal.voids) return table;
  for (const Void& each : *canal.voids) {
    table.rows.push_back(
        {std::to_string(table.rows.size() + 1), fixed(each.from_mm, 2) + " to " + fixed(each.to_mm, 2),
         std::string(third_words(each.third)),
         std::string(kind_words(each.kind)) + (each.at_backfill ? ", where the backfill starts" : ""),
         plus_minus(each.length_mm, 2), plus_minus(each.width_mm, 2), percent(each.deficit),
         score_words(each)});
  }
  return table;
}

Table widths_table(const CanalResult& canal) {
  constexpr std::size_t most_widths = 12;  // spread over the fill; all of them are in the result file
  Table table{"Width of canal " + canal.name,
              {{"At, mm from the apex"}, {"Width ± k = 2, mm", figure}},
              {},
              missing(canal, "width") + "."};
  const std::vector<WidthAt>& all = canal.width;
  const std::size_t shown = std::min(all.size(), most_widths);
  for (std::size_t i = 0; i < shown; ++i) {
    const WidthAt& each = all[shown == 1 ? 0 : i * (all.size() - 1) / (shown - 1)];
    table.rows.push_back(
        {fixed(each.at_mm, 2), plus_minus(Quantity{each.width_mm, each.standard_uncertainty_mm}, 2)});
  }
  return table;
}

Table verdicts_table(const CanalResult& canal, const Judged& judged) {
  Table table{"Verdicts on canal " + canal.name,
              {{"Criterion"}, {"Verdict"}, {"Chance of within", figure}, {"What decided"}},
              {},
              "no criterion."};
  for (const Judgement& each : judged.judgements) {
    if (each.canal != canal.name) continue;
    table.rows.push_back(
        {each.text, verdict_phrase(each.verdict),
         each.probability_within ? probability(*each.probability_within) : std::string(unknown),
         each.reason});
  }
  return table;
}

Section canal_section(const CanalResult& canal, const Result& result, std::size_t number) {
  Section section{"canal-" + std::to_string(number), "Canal " + canal.name};
  const std::string end = canal.terminus ? terminus_words(*canal.terminus) : missing(canal, "terminus");
  section.blocks.emplace_back(
      Paragraph{std::vector<Phrase>{{"End of the fill: "}, {end, Phrase::Style::strong}}});
  if (result.judged) section.blocks.emplace_back(verdicts_table(canal, *result.judged));
  section.blocks.emplace_back(figures_table(canal));
  section.blocks.emplace_back(voids_table(canal));
  section.blocks.emplace_back(widths_table(canal));
  std::vector<Words> remarks;
  for (const MaterialBeyond& each : canal.material_beyond_apex)
    remarks.emplace_back("Beyond the apex: " + beyond_words(each));
  if (canal.empty_canal && canal.empty_canal->visible)
    remarks.emplace_back("Canal seen empty short of the apex, " +
                         mm_range(canal.empty_canal->from_mm, canal.empty_canal->to_mm));
  for (const TaperBreak& each : canal.taper.breaks) remarks.emplace_back("Width: " + break_words(each));
  for (const Reason& each : grouped_reasons(canal))
    remarks.emplace_back("Not assessable: " + each.what + ": " + each.why);
  for (const Note& each : canal.warnings) remarks.emplace_back("Warning: " + each.text);
  section.blocks.emplace_back(Bullets{std::move(remarks)});
  return section;
}

std::string outside_words(const CanalResult& canal, const Result& result) {
  if (!result.judged) return "not judged";
  std::vector<std::string> parts;
  for (const Judgement& each : result.judged->judgements) {
    if (each.canal == canal.name && each.verdict != Verdict::within)
      parts.push_back(std::string(verdict_words(each.verdict)) + ": " + clean(each.text));
  }
  return parts.empty() ? "nothing: within every criterion" : joined(parts, "; ");
}

/// One row a canal, for the first sheet.
Table canals_table(const Result& result) {
  Table table{"At a glance, ± k = 2",
              {{"Canal"},
               {"End of the fill"},
               {"Voids found", figure},
               {"Taper, mm per mm", figure},
               {"What isn't within"}},
              {},
              "no canal."};
  for (const CanalResult& canal : result.canals) {
    table.rows.push_back(
        {canal.name, canal.terminus ? terminus_words(*canal.terminus) : missing(canal, "terminus"),
         canal.voids ? std::to_string(canal.voids->size()) : missing(canal, "voids"),
         canal.taper.overall ? taper_figure(*canal.taper.overall) : missing(canal, "taper.overall"),
         outside_words(canal, result)});
  }
  return table;
}

Section basis_section(const Result& result) {
  Section section{"basis", "What it rests on"};
  const Provenance& from = result.provenance;
  const FilmQuality& film = result.film;
  Facts facts;
  const auto add = [&](const char* name, const std::string& text) {
    if (!text.empty()) facts.facts.push_back({name, text});
  };
  add("Film", from.image_file);
  add("Read by", from.reader);
  add("Tooth (ISO 3950)", from.tooth);
  add("Scale", scale_words(result.scale));
  add("Film quality", std::to_string(film.columns) + " × " + std::to_string(film.rows) + ", " +
                          film.response + ", noise " + fixed(film.noise_grey, 1) + " grey levels, blur " +
                          (film.blur_mm ? mm(*film.blur_mm) : std::string(unknown)) + ", clipped " +
                          percent(film.clipped_share, 1));
  add("Criteria", result.judged ? criteria_words(*result.judged) : "none given: not judged");
  add("Uncertainty", "± is the expanded uncertainty, k = 2 (about 95 %)");
  add("SHA-256 of the film", from.image_sha256);
  add("SHA-256 of the reading", from.reading_sha256);
  section.blocks.emplace_back(std::move(facts));
  section.blocks.emplace_back(canals_table(result));
  for (const Note& each : result.warnings)
    section.blocks.emplace_back(Paragraph{"Warning: " + each.text, Paragraph::Kind::caution});
  return section;
}

}  // namespace

std::string report_pdf(const Film& film, const Result& result, Identity identity) {
  const Result shown = identity == Identity::shown ? result : without_identity(result);
  Document document;
  document.title =
      "Root canal filling" + (shown.provenance.tooth.empty() ? "" : ", tooth " + shown.provenance.tooth);
  Section cautions{"cautions", "Cautions"};
  for (const std::string& each : shown.cautions)
    cautions.blocks.emplace_back(Paragraph{each, Paragraph::Kind::caution});
  cautions.blocks.emplace_back(Drawing{page_scene(film, shown), "", Drawing::Lies::on_a_sheet_of_its_own});
  document.sections.push_back(basis_section(shown));
  document.sections.push_back(std::move(cautions));
  for (std::size_t i = 0; i < shown.canals.size(); ++i)
    document.sections.push_back(canal_section(shown.canals[i], shown, i + 1));
  document.foot = {
      joined({clean(shown.provenance.program), "OpenCV " + clean(shown.provenance.opencv)}, " · ")};
  return pdf_document(document);
}

}  // namespace canalrule
