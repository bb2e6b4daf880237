#include "summary.hpp"

#include <optional>
#include <string>
#include <vector>

#include <canalrule/report/figures.hpp>

#include "look.hpp"
#include "symbols.hpp"

namespace canalrule::report {
namespace {

constexpr double size_summary = 7.0;

/// A paragraph, with the sign of a verdict before it where it is one.
struct Paragraph {
  std::string head;  ///< set in bold at its start
  std::string text;
  std::optional<Verdict> verdict;
};

/// Figures, what makes them doubtful, verdicts, and what could not be assessed; the film's own doubts stand once.
std::vector<Paragraph> paragraphs(const CanalResult& canal, const Result& result, bool with_film) {
  std::vector<Paragraph> out;
  std::vector<DoubtLine> doubts = doubt_lines(canal);
  if (with_film)
    for (const DoubtLine& doubt : doubt_lines(result))
      if (doubt.code != "edge-enhancement") doubts.push_back(doubt);  // the page's head tells the halo
  const auto add_doubts = [&](bool warnings) {
    for (const DoubtLine& doubt : doubts)
      if (doubt.code.empty() != warnings) out.push_back({doubt.head, doubt.text, {}});
  };
  for (const FigureLine& figure : figure_lines(canal)) out.push_back({figure.name, figure.value, {}});
  add_doubts(true);
  for (const VerdictLine& each : verdict_lines(canal, result)) {
    const std::string chance = each.chance.empty() ? "" : " (p\u00A0" + each.chance + ")";
    out.push_back({each.words, each.asked + chance, each.verdict});
  }
  add_doubts(false);
  return out;
}

}  // namespace

Layer summary(const CanalResult& canal, const Result& result, const Box& box, std::size_t index) {
  Layer layer{"summary-" + std::to_string(index + 1), std::nullopt, {}};
  const double height = line_height(size_summary);
  double baseline = box.top + size_summary;
  const std::vector<Paragraph> all = paragraphs(canal, result, index == 0);
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
