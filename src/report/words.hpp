#pragma once

#include <canalrule/record/result.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// Figures as a person reads them, in the trade's words; used by the text and by the picture alike.
/// Uncertainties are shown expanded: U = k u with k = 2, a level of confidence of
/// about 95 % (JCGM 100:2008, 6.2 and G.6.6). A figure, its ± and its unit hold together by no_break.
namespace canalrule::report {

constexpr double coverage_factor = 2.0;
constexpr std::string_view unknown = "–";

/// The value to so many decimals, whatever the locale, with a true minus sign; "–" where not finite.
std::string fixed(double value, int decimals);

/// "1.23 ± 0.12": the value and its expanded uncertainty to so many decimals. An uncertainty that
/// would print as nothing is rounded up to one unit of the last place (JCGM 100:2008, 7.2.6).
std::string plus_minus(const Quantity& quantity, int decimals);

/// The same, as many decimals as give the expanded uncertainty two significant digits (JCGM 100:2008,
/// 7.2.6), from 0 to 7.
std::string plus_minus(const Quantity& quantity);

std::string mm(double value);                        ///< "1.23 mm"
std::string mm(const Quantity& quantity);            ///< "1.23 ± 0.12 mm"
std::string signed_mm(const Quantity& quantity);     ///< "+0.03 ± 0.02 mm"
std::string mm_range(double from_mm, double to_mm);  ///< "4.80 to 5.40 mm"
std::string taper_figure(const Quantity& taper);     ///< "0.079 ± 0.004", mm per mm
std::string percent(double share, int decimals);     ///< "35 %"
std::string percent(const Quantity& share);          ///< "35 ± 8 %"
std::string probability(double p);                   ///< "97.3 %", "> 99.9 %"

/// "none found", or where not all of the fill can be judged "none found where they can be told".
std::string none_found(const CanalResult& canal);

/// "1.23 ± 0.12 mm short of the apex", "at the apex (0.03 ± 0.12 mm short of it)".
std::string terminus_words(const Terminus& terminus);
/// Against the working length, the same way.
std::string working_length_words(const Quantity& terminus_to_working_length_mm);
std::string_view side_words(Side side);  ///< "short of the apex", "at the apex", "beyond the apex"
std::string_view kind_words(VoidKind kind);

/// Whether a void is too weak to be held for one: a score, rounded as it is shown, of under 3.
bool may_be_chance(const Void& found);
std::string_view third_words(Third third);
std::string_view verdict_words(Verdict verdict);

/// The criterion in the trade's words, and its limit in numbers where they don't say it.
std::string asked_words(const Judgement& judgement);
std::string break_words(const TaperBreak& taper_break);    ///< "step of +0.08 ± 0.03 mm at 6.20 mm"
std::string beyond_words(const MaterialBeyond& material);  ///< one piece beyond the apex
std::string source_words(std::string_view scale_source);   ///< "a known length on this film"
std::string scale_words(const ScaleResult& scale);
/// "coronal taper" of "taper.coronal", "filled length" of "filled_length_mm".
std::string figure_words(std::string_view figure);
/// The sentence of a figure that can't be measured, or its reason in words where there is none.
std::string reason_words(const NotAssessable& entry);
/// "NAME, version 1", and the same with its published source.
std::string criteria_name(const Judged& judged);
std::string criteria_words(const Judged& judged);

/// Every reason of a canal once, with the figures and stretches it takes away.
struct Reason {
  std::string why, what;
};
std::vector<Reason> grouped_reasons(const CanalResult& canal);

/// The entry that says why the whole figure is missing.
const NotAssessable* why_missing(const CanalResult& canal, std::string_view figure);

}  // namespace canalrule::report
