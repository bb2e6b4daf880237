#include <canalrule/report/figures.hpp>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

std::string missing(const CanalResult& canal, std::string_view figure) {
  const NotAssessable* why = why_missing(canal, figure);
  return why != nullptr ? "not assessable" : std::string(unknown);
}

std::string voids_words(const CanalResult& canal) {
  if (!canal.voids) return missing(canal, "voids");
  if (canal.voids->empty()) return none_found(canal);
  const auto told = [&](bool chance) {
    std::size_t count = 0;
    const Void* longest = nullptr;
    for (const Void& each : *canal.voids) {
      if (may_be_chance(each) != chance) continue;
      ++count;
      if (longest == nullptr || each.length_mm.value > longest->length_mm.value) longest = &each;
    }
    const std::string may_be = chance ? " that may be chance" : "";
    if (count == 0) return std::string();
    return std::to_string(count) + may_be +
           (count == 1 ? ", " + mm(longest->length_mm) + " long" : ", the longest " + mm(longest->length_mm));
  };
  return joined({told(false), told(true)}, "; ");
}

std::string taper_words(const CanalResult& canal) {
  const Taper& taper = canal.taper;
  if (!taper.overall) return missing(canal, "taper.overall");
  const auto third = [](const std::optional<Quantity>& value) {
    return value ? taper_figure(*value) : std::string(unknown);
  };
  return taper_figure(*taper.overall) + " mm per mm (apical " + third(taper.apical) + ", middle " +
         third(taper.middle) + ", coronal " + third(taper.coronal) + ")";
}

std::string judged_figure(const Judgement& judgement) {
  if (!judgement.figure) return {};
  if (judgement.unit.empty())  // a number of voids is exact, a share isn't
    return judgement.figure->standard_uncertainty > 0.0 ? plus_minus(*judgement.figure)
                                                        : fixed(judgement.figure->value, 0);
  const int decimals = judgement.unit == "mm" ? 2 : 3;
  return plus_minus(*judgement.figure, decimals) + std::string(no_break) + clean(judgement.unit);
}

}  // namespace

std::vector<FigureLine> figure_lines(const CanalResult& canal) {
  return {{"Terminus", canal.terminus ? terminus_words(*canal.terminus) : missing(canal, "terminus")},
          {"Filled length",
           canal.filled_length_mm ? mm(*canal.filled_length_mm) : missing(canal, "filled_length_mm")},
          {"Voids", voids_words(canal)},
          {"Taper", taper_words(canal)}};
}

std::vector<VerdictLine> verdict_lines(const CanalResult& canal, const Result& result) {
  std::vector<VerdictLine> lines;
  if (!result.judged) return lines;
  for (const Judgement& judgement : result.judged->judgements) {
    if (judgement.canal != canal.name) continue;
    lines.push_back({judgement.verdict, std::string(verdict_words(judgement.verdict)), asked_words(judgement),
                     judged_figure(judgement),
                     judgement.probability_within ? probability(*judgement.probability_within) : std::string(),
                     clean(judgement.reason)});
  }
  return lines;
}

std::vector<DoubtLine> doubt_lines(const CanalResult& canal) {
  std::vector<DoubtLine> lines;
  for (const Reason& each : grouped_reasons(canal))
    lines.push_back({"Not assessable", each.what + ": " + each.why, ""});
  for (const Note& warning : canal.warnings) lines.push_back({"Warning", clean(warning.text), warning.code});
  return lines;
}

std::vector<DoubtLine> doubt_lines(const Result& result) {
  std::vector<DoubtLine> lines;
  for (const Note& warning : result.warnings) lines.push_back({"Warning", clean(warning.text), warning.code});
  return lines;
}

std::vector<NotAssessable> stretches_not_assessable(const CanalResult& canal) {
  std::vector<NotAssessable> stretches;
  for (const NotAssessable& entry : canal.not_assessable) {
    if (!entry.from_mm || !entry.to_mm) continue;
    const auto told = std::find_if(stretches.begin(), stretches.end(), [&](const NotAssessable& other) {
      return other.from_mm == entry.from_mm && other.to_mm == entry.to_mm && other.reason == entry.reason;
    });
    if (told == stretches.end())
      stretches.push_back(entry);
    else if (told->figure != entry.figure)
      told->figure.clear();
  }
  return stretches;
}

std::string scale_line(const Result& result) { return scale_words(result.scale); }

std::optional<double> width_near(const CanalResult& canal, double at_mm) {
  const auto nearest =
      std::min_element(canal.width.begin(), canal.width.end(), [&](const WidthAt& a, const WidthAt& b) {
        return std::abs(a.at_mm - at_mm) < std::abs(b.at_mm - at_mm);
      });
  if (nearest == canal.width.end() || std::abs(nearest->at_mm - at_mm) > 1.0) return std::nullopt;
  return nearest->width_mm;
}

std::string criteria_line(const Result& result) { return result.judged ? criteria_name(*result.judged) : ""; }

std::string length_words(const Quantity& length_mm) { return mm(length_mm); }

std::string void_line(const Void& found) {
  return joined({"Void " + std::string(kind_words(found.kind)), mm(found.length_mm) + " long",
                 mm(found.width_mm) + " wide", "deficit " + percent(found.deficit),
                 fixed(found.score, 1) + std::string(no_break) + "sd" + (may_be_chance(found) ? ", may be chance" : ""),
                 mm_range(found.from_mm, found.to_mm) + " from the apex"},
                ", ");
}

std::string break_line(const TaperBreak& taper_break) {
  std::string words = break_words(taper_break);
  if (!words.empty()) words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
  return words;
}

}  // namespace canalrule::report
