#include "summary.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "look.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double size_summary = 7.0;

/// A paragraph, with the sign of a verdict before it where it is one.
struct Paragraph {
  std::string head;  ///< set in bold at its start
  std::string text;
  std::optional<Verdict> verdict;
};

std::string missing(const CanalResult& canal, std::string_view figure) {
  const NotAssessable* why = why_missing(canal, figure);
  return why != nullptr ? "not assessable" : std::string(unknown);
}

std::string voids_words(const CanalResult& canal) {
  if (!canal.voids) return missing(canal, "voids");
  if (canal.voids->empty()) return "none found";
  const auto longest =
      std::max_element(canal.voids->begin(), canal.voids->end(),
                       [](const Void& a, const Void& b) { return a.length_mm.value < b.length_mm.value; });
  return std::to_string(canal.voids->size()) + ", the longest " + mm(longest->length_mm);
}

std::string taper_words(const CanalResult& canal) {
  const Taper& taper = canal.taper;
  if (!taper.overall) return missing(canal, "taper.overall");
  const auto third = [](const std::optional<Quantity>& value) {
    return value ? fixed(value->value, 3) : std::string(unknown);
  };
  return taper_figure(*taper.overall) + " mm per mm (apical " + third(taper.apical) + ", middle " +
         third(taper.middle) + ", coronal " + third(taper.coronal) + ")";
}

std::vector<Paragraph> paragraphs(const CanalResult& canal, const Result& result) {
  std::vector<Paragraph> out;
  out.push_back(
      {"Terminus", canal.terminus ? terminus_words(*canal.terminus) : missing(canal, "terminus"), {}});
  out.push_back({"Filled length",
                 canal.filled_length_mm ? mm(*canal.filled_length_mm) : missing(canal, "filled_length_mm"),
                 {}});
  out.push_back({"Voids", voids_words(canal), {}});
  out.push_back({"Taper", taper_words(canal), {}});
  if (result.judged) {
    for (const Judgement& judgement : result.judged->judgements) {
      if (judgement.canal != canal.name) continue;
      const std::string chance =
          judgement.probability_within ? " (p\u00A0" + probability(*judgement.probability_within) + ")" : "";
      out.push_back(
          {std::string(verdict_words(judgement.verdict)), clean(judgement.text) + chance, judgement.verdict});
    }
  }
  for (const Reason& each : grouped_reasons(canal))
    out.push_back({"Not assessable", each.what + ": " + each.why, {}});
  for (const Note& warning : canal.warnings) out.push_back({"Warning", clean(warning.text), {}});
  return out;
}

}  // namespace

Layer summary(const CanalResult& canal, const Result& result, const Box& box, std::size_t index) {
  Layer layer{"summary-" + std::to_string(index + 1), std::nullopt, {}};
  const double height = line_height(size_summary);
  double baseline = box.top + size_summary;
  const std::vector<Paragraph> all = paragraphs(canal, result);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Paragraph& each = all[i];
    const double indent = each.verdict ? 10.0 : 0.0;
    const double head = text_width(each.head + " ", size_summary, Weight::bold) + 2.0;
    const double wide = box.width - indent;
    const std::vector<std::string> lines = wrapped_to(each.text, size_summary, wide - head, wide);
    // All but the last leave a line for saying that there is more.
    const double needed = static_cast<double>(lines.size()) - (i + 1 == all.size() ? 1.0 : 0.0);
    if (baseline + height * needed > box.bottom()) {
      layer.items.push_back(Text{{box.left, baseline},
                                 "… " + std::to_string(all.size() - i) + " more in the text report",
                                 size_summary,
                                 ink_soft});
      break;
    }
    if (each.verdict)
      add(layer.items, verdict_sign(*each.verdict, {box.left + 3.4, baseline - 0.36 * size_summary}, 3.0));
    layer.items.push_back(
        Text{{box.left + indent, baseline}, each.head, size_summary, ink, Anchor::start, Weight::bold});
    double x = box.left + indent + head;
    for (const std::string& line : lines) {
      layer.items.push_back(Text{{x, baseline}, line, size_summary, ink});
      x = box.left + indent;
      baseline += height;
    }
    baseline += 1.2;
  }
  return layer;
}

}  // namespace canalrule::report
