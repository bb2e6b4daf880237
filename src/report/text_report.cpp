#include <algorithm>
#include <canalrule/report/report.hpp>
#include <utility>
#include <vector>

#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule {
namespace {

using namespace report;

constexpr std::size_t page_columns = 80;
constexpr std::size_t label_columns = 10;

/// Lines of at most 80 columns; what is longer goes on under its own beginning.
class Page {
 public:
  /// A label in a column of its own, what is said beside it.
  void say(std::string_view label, std::string_view text) { put(padded(label, label_columns), text); }

  void put(std::string_view head, std::string_view text) {
    const std::size_t room = page_columns - code_points(head);
    bool first = true;
    for (const std::string& line : wrapped(text, room, room)) {
      text_ += first ? std::string(head) : std::string(code_points(head), ' ');
      text_ += line + "\n";
      first = false;
    }
  }

  void rule(std::string_view title) {
    std::string line = "── " + shortened(title, page_columns - 6) + " ";
    while (code_points(line) < page_columns) line += "─";
    text_ += line + "\n";
  }

  std::string text() && { return std::move(text_); }

 private:
  std::string text_;
};

/// A line of a table: its spaces are kept as they are.
std::string bound(std::string_view line) {
  std::string out;
  for (const char c : line) {
    if (c == ' ')
      out += no_break;
    else
      out += c;
  }
  return out;
}

std::string or_unknown(const std::optional<double>& value, int decimals, std::string_view unit) {
  if (!value) return std::string(unknown);
  return fixed(*value, decimals) + std::string(unit);
}

std::string film_line(const FilmQuality& film) {
  return joined({std::to_string(film.columns) + " × " + std::to_string(film.rows), clean(film.response),
                 "noise " + fixed(film.noise_grey, film.noise_grey < 10.0 ? 1 : 0) + " grey",
                 "blur " + or_unknown(film.blur_mm, 2, " mm"), "clipped " + percent(film.clipped_share, 1),
                 "halo " + (film.halo_share ? percent(*film.halo_share, 0) : std::string(unknown))},
                ", ");
}

class CanalLines {
 public:
  CanalLines(const CanalResult& canal, Page& page) : canal_(canal), page_(page) {}

  void write() {
    page_.rule("Canal " + clean(canal_.name));
    page_.say("Terminus", canal_.terminus ? terminus_words(*canal_.terminus) : missing("terminus"));
    page_.say("Fill", "length " + or_missing(canal_.filled_length_mm, "filled_length_mm") +
                          ", coronal level " + or_missing(canal_.coronal_level_mm, "coronal_level_mm"));
    apex();
    voids();
    width();
    taper();
    breaks();
    plan();
    view();
    reasons();
    for (const Note& warning : canal_.warnings) page_.say("Warning", clean(warning.text));
  }

 private:
  /// "not assessable" where a reason is on record (it stands further down), else "–".
  std::string missing(std::string_view figure) const {
    return why_missing(canal_, figure) != nullptr ? "not assessable" : std::string(unknown);
  }

  std::string or_missing(const std::optional<Quantity>& value_mm, std::string_view figure) const {
    return value_mm ? mm(*value_mm) : missing(figure);
  }

  void apex() {
    std::vector<std::string> parts;
    if (canal_.empty_canal && canal_.empty_canal->visible) {
      parts.push_back("canal seen empty short of it, " +
                      mm_range(canal_.empty_canal->from_mm, canal_.empty_canal->to_mm) + ", " +
                      fixed(canal_.empty_canal->score, 1) + " sd");
    }
    for (const MaterialBeyond& piece : canal_.material_beyond_apex) {
      parts.push_back("beyond it " + beyond_words(piece));
    }
    if (canal_.material_beyond_apex.empty()) {
      const std::string why = missing("material_beyond_apex");
      const bool looked = why == unknown && canal_.terminus;
      parts.push_back(looked ? (canal_.terminus->side == Side::beyond
                                    ? "no material apart from the fill seen beyond it"
                                    : "no material seen beyond it")
                             : "material beyond it " + why);
    }
    if (canal_.root_end)
      parts.push_back("the root seems to end at " + mm(canal_.root_end->to_apex_mm) + " (not used)");
    if (canal_.terminus)
      for (const UncertaintyPart& part : canal_.terminus->parts)
        if (part.source == "apex mark" && !part.basis.empty())
          parts.push_back("its mark ± " + fixed(coverage_factor * part.standard_uncertainty_mm, 2) + " mm, " +
                          clean(part.basis));
    page_.say("Apex", joined(parts, "; "));
  }

  /// A table where there are any; the number is the one in the picture.
  void voids() {
    if (!canal_.voids) return page_.say("Voids", missing("voids"));
    if (canal_.voids->empty()) return page_.say("Voids", none_found(canal_));
    const auto row = [](std::string_view head, std::string_view place, std::string_view third,
                        std::string_view kind, std::string_view length, std::string_view wide,
                        std::string_view deficit, std::string_view score) {
      return padded(head, 5) + padded(place, 15) + padded(third, 8) + padded(kind, 13) + padded(length, 12) +
             padded(wide, 12) + padded(deficit, 11) + std::string(score);
    };
    page_.put("", bound(row("Voids", "  at, mm", "third", "", "long, mm", "wide, mm", "deficit", "sd")));
    std::size_t number = 0;
    std::string by_chance;
    for (const Void& gap : *canal_.voids) {
      if (may_be_chance(gap)) by_chance += (by_chance.empty() ? "" : ", ") + std::to_string(number + 1);
      page_.put(
          "", bound(row(" " + std::to_string(++number), fixed(gap.from_mm, 2) + " to " + fixed(gap.to_mm, 2),
                        third_words(gap.third), kind_words(gap.kind), plus_minus(gap.length_mm, 2),
                        plus_minus(gap.width_mm, 2), percent(gap.deficit), fixed(gap.score, 1))));
    }
    if (!by_chance.empty()) page_.say("", "Void " + by_chance + " may be chance: its score (sd) is under 3.");
  }

  /// Up to three of the measured widths, spread over the fill; all of them are in the result file.
  void width() {
    const std::vector<WidthAt>& all = canal_.width;
    if (all.empty()) return page_.say("Width", missing("width"));
    std::vector<std::string> parts;
    const std::size_t shown = std::min<std::size_t>(all.size(), 3);
    for (std::size_t i = 0; i < shown; ++i) {
      const WidthAt& w = all[shown == 1 ? 0 : i * (all.size() - 1) / (shown - 1)];
      parts.push_back(plus_minus(Quantity{w.width_mm, w.standard_uncertainty_mm}, 2) + " at " +
                      fixed(w.at_mm, 1));
    }
    page_.say("Width", joined(parts, ", ") + " mm");
  }

  void taper() {
    const auto figure = [this](const std::optional<Quantity>& value, std::string_view name) {
      return value ? taper_figure(*value) : missing(name);
    };
    page_.say("Taper", "mm per mm: overall " + figure(canal_.taper.overall, "taper.overall") + ", apical " +
                           figure(canal_.taper.apical, "taper.apical") + ", middle " +
                           figure(canal_.taper.middle, "taper.middle") + ", coronal " +
                           figure(canal_.taper.coronal, "taper.coronal"));
  }

  void breaks() {
    std::vector<std::string> parts;
    for (const TaperBreak& each : canal_.taper.breaks) {
      parts.push_back(break_words(each) + " (" + fixed(each.score, 1) + " sd)");
    }
    if (parts.empty()) parts.emplace_back(canal_.width.empty() ? unknown : "none found");
    if (const auto& reversal = canal_.taper.largest_reversal) parts.push_back(narrowing(*reversal));
    page_.say("Breaks", joined(parts, "; "));
  }

  static std::string narrowing(const Reversal& reversal) {
    const std::string figure = mm(reversal.narrowing_mm);
    const bool none = reversal.narrowing_mm.value < 0.005;  // prints as 0.00: a place would mean nothing
    const bool at_step = reversal.to_mm - reversal.from_mm < 0.005;  // both ends print alike
    return none ? "narrows nowhere crownwards (" + figure + ")"
                : "narrows crownwards by " + figure + ", " +
                      (at_step ? "at " + mm(reversal.from_mm) : mm_range(reversal.from_mm, reversal.to_mm));
  }

  void plan() {
    const AgainstPlan& plan = canal_.against_plan;
    std::vector<std::string> parts;
    if (plan.mean_width_difference_mm) {
      parts.push_back("width " + signed_mm(*plan.mean_width_difference_mm) + " against the cone");
    }
    if (plan.terminus_to_working_length_mm) {
      parts.push_back("ends " + working_length_words(*plan.terminus_to_working_length_mm));
    }
    if (plan.fill_length_from_reference_mm) {
      parts.push_back("reference to terminus " + mm(*plan.fill_length_from_reference_mm));
    }
    if (plan.gap_at_backfill) parts.push_back(backfill());
    if (!parts.empty()) page_.say("Plan", joined(parts, "; "));
  }

  std::string backfill() const {
    if (!*canal_.against_plan.gap_at_backfill) return "no gap where the backfill starts";
    std::vector<std::string> numbers;
    for (std::size_t i = 0; canal_.voids && i < canal_.voids->size(); ++i) {
      if ((*canal_.voids)[i].at_backfill) numbers.push_back(std::to_string(i + 1));
    }
    return "a gap where the backfill starts" + (numbers.empty() ? "" : ": void " + joined(numbers, ", "));
  }

  void view() {
    const CanalFilm& film = canal_.film;
    const auto& curve = canal_.curvature_deg;
    page_.say("View", joined({"curve " + (curve ? plus_minus(*curve, 0) + "°" : missing("curvature_deg")),
                              "contrast " + or_unknown(film.contrast_to_texture, 1, " sd"),
                              "blur " + or_unknown(film.blur_mm, 2, " mm"),
                              "bone beyond apex " + or_unknown(film.bone_beyond_apex_mm, 1, " mm")},
                             ", "));
  }

  void reasons() {
    for (const Reason& each : grouped_reasons(canal_))
      page_.put("Not assessable: ", each.what + ": " + each.why);
  }

  const CanalResult& canal_;
  Page& page_;
};

void write_judgement(const Judgement& judgement, Page& page) {
  const std::string chance =
      judgement.probability_within ? probability(*judgement.probability_within) : std::string(unknown);
  const bool explain = judgement.verdict == Verdict::not_assessable && !judgement.reason.empty();
  const std::string text = asked_words(judgement) + (explain ? ": " + clean(judgement.reason) : "");
  page.put(padded(verdict_words(judgement.verdict), 18) + padded(chance, 9), text);
}

void write_head(const Result& result, Page& page) {
  const Provenance& from = result.provenance;
  const std::string title = "Root canal filling" + (from.tooth.empty() ? "" : ", tooth " + clean(from.tooth));
  page.rule(joined({title, shortened(clean(from.image_file), 34),
                    from.reader.empty() ? "" : "read by " + shortened(clean(from.reader), 12)},
                   " · "));
  page.say("Scale", scale_words(result.scale));
  page.say("Film", film_line(result.film));
  if (result.judged) page.say("Criteria", criteria_name(*result.judged));
  page.say("Figures", std::string("mm from the apex; ± is k = 2, about 95 %") +
                          (result.judged ? "; verdicts: chance of being within" : ""));
  for (const Note& warning : result.warnings) page.say("Warning", clean(warning.text));
}

}  // namespace

std::string text_report(const Result& result) {
  Page page;
  write_head(result, page);
  for (const CanalResult& canal : result.canals) {
    CanalLines(canal, page).write();
    if (!result.judged) continue;
    for (const Judgement& judgement : result.judged->judgements) {
      if (judgement.canal == canal.name) write_judgement(judgement, page);
    }
  }
  std::vector<std::string> cautions;
  for (const std::string& caution : result.cautions) cautions.push_back(clean(caution));
  if (!cautions.empty()) {
    page.rule("Cautions");
    page.put("", joined(cautions, " "));
  }
  return std::move(page).text();
}

}  // namespace canalrule
