#include "words.hpp"

#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <charconv>
#include <cmath>

#include "plain_text.hpp"

namespace canalrule::report {
namespace {

/// Three standard deviations, as the README says it. Chosen here; tests/unit/report/test_words.cpp.
constexpr double least_sure_score = 3.0;

std::string digits(double value, int decimals) {
  std::array<char, 400> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
  ensure(error == std::errc{}, "a double in fixed notation fits the buffer");
  return {buffer.data(), end};
}

/// Decimals that leave the expanded uncertainty two significant digits.
int decimals_for(double expanded) {
  if (!(expanded > 0.0) || !std::isfinite(expanded)) return 3;
  const int leading = static_cast<int>(std::floor(std::log10(expanded)));
  return std::clamp(1 - leading, 0, 7);
}

std::string expanded_figure(double standard_uncertainty, int decimals) {
  const double expanded = coverage_factor * std::abs(standard_uncertainty);
  return fixed(std::max(expanded, std::pow(10.0, -decimals)), decimals);
}

std::string distance_words(const Quantity& distance, std::string_view mark) {
  const bool beyond = distance.value < 0.0;
  return mm(Quantity{std::abs(distance.value), distance.standard_uncertainty}) +
         (beyond ? " beyond " : " short of ") + std::string(mark);
}

std::string with_spaces(std::string_view code) {
  std::string out = clean(code);
  std::replace_if(
      out.begin(), out.end(), [](char c) { return c == '-' || c == '_'; }, ' ');
  return out;
}

}  // namespace

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return std::string(unknown);
  const std::string magnitude = digits(std::abs(value), decimals);
  const bool zero = magnitude.find_first_not_of("0.") == std::string::npos;
  return value < 0.0 && !zero ? "−" + magnitude : magnitude;
}

std::string plus_minus(const Quantity& quantity, int decimals) {
  if (!std::isfinite(quantity.value)) return std::string(unknown);
  const std::string value = fixed(quantity.value, decimals);
  if (!std::isfinite(quantity.standard_uncertainty)) return value + "\u00A0±\u00A0" + std::string(unknown);
  return value + "\u00A0±\u00A0" + expanded_figure(quantity.standard_uncertainty, decimals);
}

std::string plus_minus(const Quantity& quantity) {
  return plus_minus(quantity, decimals_for(coverage_factor * quantity.standard_uncertainty));
}

std::string mm(double value) { return fixed(value, 2) + "\u00A0mm"; }
std::string mm(const Quantity& quantity) { return plus_minus(quantity, 2) + "\u00A0mm"; }

std::string signed_mm(const Quantity& quantity) {
  const std::string figure = mm(quantity);
  return quantity.value > 0.0 && !figure.starts_with("0.00") ? "+" + figure : figure;
}

std::string mm_range(double from_mm, double to_mm) {
  return fixed(from_mm, 2) + "\u00A0to\u00A0" + fixed(to_mm, 2) + "\u00A0mm";
}

std::string taper_figure(const Quantity& taper) { return plus_minus(taper, 3); }
std::string percent(double share, int decimals) { return fixed(100.0 * share, decimals) + "\u00A0%"; }

std::string percent(const Quantity& share) {
  return plus_minus(Quantity{100.0 * share.value, 100.0 * share.standard_uncertainty}, 0) + "\u00A0%";
}

std::string probability(double p) {
  if (p > 0.999) return ">\u00A099.9\u00A0%";
  if (p < 0.001) return "<\u00A00.1\u00A0%";
  return percent(p, 1);
}

std::string terminus_words(const Terminus& terminus) {
  const Quantity distance{terminus.to_apex_mm, terminus.standard_uncertainty_mm};
  if (terminus.side == Side::at) return "at the apex (" + distance_words(distance, "it") + ")";
  return mm(Quantity{std::abs(distance.value), distance.standard_uncertainty}) + " " +
         std::string(side_words(terminus.side));
}

std::string working_length_words(const Quantity& terminus_to_working_length_mm) {
  return distance_words(terminus_to_working_length_mm, "the working length");
}

std::string_view side_words(Side side) {
  switch (side) {
    case Side::short_of:
      return "short of the apex";
    case Side::at:
      return "at the apex";
    case Side::beyond:
      return "beyond the apex";
  }
  fault("a side is short of, at or beyond");
}

std::string_view kind_words(VoidKind kind) {
  switch (kind) {
    case VoidKind::across:
      return "across";
    case VoidKind::inside:
      return "inside";
    case VoidKind::along_wall:
      return "along a wall";
  }
  fault("a void is across, inside or along a wall");
}

bool may_be_chance(const Void& found) { return std::round(10.0 * found.score) < 10.0 * least_sure_score; }

std::string_view third_words(Third third) {
  switch (third) {
    case Third::apical:
      return "apical";
    case Third::middle:
      return "middle";
    case Third::coronal:
      return "coronal";
  }
  fault("a third is apical, middle or coronal");
}

std::string asked_words(const Judgement& judgement) {
  const std::string text = clean(judgement.text), limit = clean(judgement.limit);
  const std::size_t at = text.find(limit);
  // "1 to 2 mm" is not what "-1 to 2 mm" or "11 to 2 mm" says.
  constexpr std::string_view parting = " ,;()";
  const auto parts = [&](std::size_t i) { return i >= text.size() || parting.find(text[i]) != parting.npos; };
  const bool said = at != std::string::npos && (at == 0 || parts(at - 1)) && parts(at + limit.size());
  return limit.empty() || said ? text : text + " (" + limit + ")";
}

std::string_view verdict_words(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return "within";
    case Verdict::outside:
      return "outside";
    case Verdict::too_close_to_call:
      return "too close to call";
    case Verdict::not_assessable:
      return "not assessable";
  }
  fault("a verdict is one of four");
}

std::string break_words(const TaperBreak& taper_break) {
  const std::string at = " at " + mm(taper_break.at_mm);
  if (taper_break.kind == "kink") {
    const std::string sign = taper_break.step_mm.value > 0.0 ? "+" : "";
    return "kink, taper " + sign + taper_figure(taper_break.step_mm) + at;
  }
  return with_spaces(taper_break.kind) + " of " + signed_mm(taper_break.step_mm) + at;
}

std::string beyond_words(const MaterialBeyond& material) {
  const std::string what = material.kind == "fill" ? "the fill itself" : "material apart from the fill";
  return what + ", " + mm(material.length_mm) + " long, " + plus_minus(material.area_mm2, 2) + " mm², " +
         mm_range(material.from_mm, material.to_mm);
}

std::string source_words(std::string_view scale_source) {
  if (scale_source == "known-length") return "a known length on this film";
  if (scale_source == "known-width") return "a known width on this film";
  if (scale_source == "carried-length") return "a length carried over from another film";
  if (scale_source == "dicom") return "the DICOM spacing";
  if (scale_source == "pooled") return "several marks pooled";
  return scale_source.empty() ? std::string(unknown) : with_spaces(scale_source);
}

std::string scale_words(const ScaleResult& scale) {
  std::string out = plus_minus(Quantity{scale.mm_per_pixel, scale.standard_uncertainty}) +
                    " mm per pixel, from " + source_words(scale.source);
  if (scale.mm_per_pixel_across) out += "; across " + plus_minus(*scale.mm_per_pixel_across);
  if (scale.foreshortening) out += "; foreshortening " + plus_minus(*scale.foreshortening);
  for (const ScaleContribution& part : scale.contributions)
    if (part.set_on_film)
      out += "; tip and stop set on the film (" + fixed(part.set_on_film->tip_moved_mm, 2) + " and " +
             fixed(part.set_on_film->stop_moved_mm, 2) + " mm)";
  if (scale.disagreement) out += "; disagreement (Birge ratio) " + fixed(*scale.disagreement, 1);
  return out;
}

std::string none_found(const CanalResult& canal) {
  const bool partly = std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(),
                                  [](const NotAssessable& each) { return each.figure == "voids"; });
  return partly ? "none found where they can be told" : "none found";
}

std::string figure_words(std::string_view figure) {
  constexpr std::string_view unit = "_mm";
  if (figure.ends_with(unit)) figure.remove_suffix(unit.size());
  const std::size_t dot = figure.find('.');
  if (dot == std::string_view::npos) return with_spaces(figure);
  return with_spaces(figure.substr(dot + 1)) + " " + with_spaces(figure.substr(0, dot));
}

std::string reason_words(const NotAssessable& entry) {
  return entry.text.empty() ? with_spaces(entry.reason) : clean(entry.text);
}

std::string criteria_name(const Judged& judged) {
  const std::string version =
      judged.criteria_version.empty() ? "" : "version " + clean(judged.criteria_version);
  return joined({clean(judged.criteria_name), version}, ", ");
}

std::string criteria_words(const Judged& judged) {
  const std::string source = clean(judged.criteria_source);
  return criteria_name(judged) + (source.empty() ? "" : " (" + source + ")");
}

std::vector<Reason> grouped_reasons(const CanalResult& canal) {
  std::vector<Reason> reasons;
  for (const NotAssessable& entry : canal.not_assessable) {
    std::string what = figure_words(entry.figure);
    if (entry.from_mm && entry.to_mm) what += " " + mm_range(*entry.from_mm, *entry.to_mm);
    const std::string why = reason_words(entry);
    const auto same =
        std::find_if(reasons.begin(), reasons.end(), [&](const Reason& each) { return each.why == why; });
    if (same == reasons.end())
      reasons.push_back({why, what});
    else
      same->what += ", " + what;
  }
  return reasons;
}

const NotAssessable* why_missing(const CanalResult& canal, std::string_view figure) {
  const bool told_by_stretches = figure == "voids" || figure == "width" || figure == "taper";
  const auto found = std::find_if(
      canal.not_assessable.begin(), canal.not_assessable.end(), [&](const NotAssessable& entry) {
        return entry.figure == figure && (!told_by_stretches || (!entry.from_mm && !entry.to_mm));
      });
  return found == canal.not_assessable.end() ? nullptr : &*found;
}

}  // namespace canalrule::report
