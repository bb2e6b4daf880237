#pragma once

#include <optional>
#include <string>
#include <vector>

#include <canalrule/record/result.hpp>

/// A result in words, line by line, for whoever shows it: the picture, the window. Uncertainties are
/// expanded, k = 2, as everywhere in this room; UTF-8, a figure and its unit held together by no-break spaces.
namespace canalrule::report {

/// One figure of a canal by its name.
struct FigureLine {
  std::string name;   ///< "Terminus", "Filled length", "Voids", "Taper"
  std::string value;  ///< "1.23 ± 0.12 mm short of the apex", "not assessable", "–" where nothing is known
};
std::vector<FigureLine> figure_lines(const CanalResult& canal);

/// One criterion's verdict on one canal.
struct VerdictLine {
  Verdict verdict = Verdict::not_assessable;
  std::string words;   ///< "within", "outside", "too close to call", "not assessable"
  std::string asked;   ///< the criterion, in the trade's words, with its limit
  std::string figure;  ///< what was judged with its uncertainty and unit; empty where there is none
  std::string chance;  ///< "97.3 %": the probability of being within; empty where there is none
  std::string reason;  ///< why not assessable, or what decided; may be empty
};
std::vector<VerdictLine> verdict_lines(const CanalResult& canal, const Result& result);

/// What can't be assessed of a canal, each reason once, and its warnings.
struct DoubtLine {
  std::string head;  ///< "Not assessable", "Warning"
  std::string text;
  std::string code;  ///< a warning's
};
std::vector<DoubtLine> doubt_lines(const CanalResult& canal);
/// The same of the film as a whole.
std::vector<DoubtLine> doubt_lines(const Result& result);

/// The stretches of a canal that can't be assessed, each once for the same reason; `figure` where it is one, empty
/// where there are several.
std::vector<NotAssessable> stretches_not_assessable(const CanalResult& canal);

/// The width measured nearest to that distance; missing where none is nearer than 1 mm (chosen here, for drawing
/// alone).
std::optional<double> width_near(const CanalResult& canal, double at_mm);

/// "0.02928 ± 0.00021 mm per pixel, from a known length on this film".
std::string scale_line(const Result& result);

/// "NAME, version 1"; empty where nothing was judged.
std::string criteria_line(const Result& result);

/// "0.51 ± 0.04 mm", "-" where not finite.
std::string length_words(const Quantity& length_mm);

/// A void in one line: kind, length, width, deficit, strength of detection.
std::string void_line(const Void& found);
std::string break_line(const TaperBreak& taper_break);

}  // namespace canalrule::report
