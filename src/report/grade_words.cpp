#include "grade_words.hpp"

#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <canalrule/measure/cautions.hpp>
#include <charconv>
#include <cmath>

#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

/// The fewest decimals that read back as the value as written in a rubric; a true minus sign.
std::string shortest(double value) {
  std::array<char, 64> digits{};
  const double rounded = std::round(value * 1e6) / 1e6;
  const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), std::abs(rounded),
                                          std::chars_format::fixed);
  ensure(error == std::errc(), "64 characters hold a rubric's number");
  return (rounded < 0.0 ? "−" : "") + std::string(digits.data(), end);
}

std::string_view rule_words(CloseCall rule) {
  switch (rule) {
    case CloseCall::benefit_of_the_doubt:
      return "the benefit of the doubt gives the most points that can't be ruled out";
    case CloseCall::nearest_band:
      return "the band that the figure itself lies in gives its points";
    case CloseCall::expected_points:
      return "the points are the mean of the bands', each by its chance";
    case CloseCall::no_benefit:
      return "only the points that are sure to be reached are given";
  }
  return "";
}

std::string_view rule_words(Unassessed rule) {
  switch (rule) {
    case Unassessed::left_out:
      return "is left out, and the mark is out of less";
    case Unassessed::full_points:
      return "earns full points";
    case Unassessed::no_points:
      return "earns no points";
  }
  return "";
}

}  // namespace

std::string_view standing_words(Standing standing) {
  switch (standing) {
    case Standing::passed:
      return "passed";
    case Standing::failed:
      return "not passed";
    case Standing::failed_automatically:
      return "not passed, an automatic fail";
    case Standing::not_marked:
      return "not marked";
  }
  return "";
}

std::string_view figure_name(const RubricFigure& figure) {
  if (const auto* film = std::get_if<FilmFigure>(&figure)) {
    switch (*film) {
      case FilmFigure::contrast_to_texture:
        return "contrast to the surroundings";
      case FilmFigure::blur_mm:
        return "blur of edges";
      case FilmFigure::bone_beyond_apex_mm:
        return "film beyond the apex";
    }
  }
  switch (std::get<CriterionFigure>(figure)) {
    case CriterionFigure::terminus_to_apex_mm:
      return "terminus to apex";
    case CriterionFigure::longest_void_mm:
      return "longest void";
    case CriterionFigure::void_count:
      return "number of voids";
    case CriterionFigure::largest_void_deficit:
      return "largest deficit of a void";
    case CriterionFigure::taper_overall:
      return "overall taper";
    case CriterionFigure::taper_apical:
      return "apical taper";
    case CriterionFigure::taper_middle:
      return "middle taper";
    case CriterionFigure::taper_coronal:
      return "coronal taper";
    case CriterionFigure::narrowing_towards_crown_mm:
      return "narrowing towards the crown";
    case CriterionFigure::taper_step_mm:
      return "step of the width";
    case CriterionFigure::material_beyond_apex_mm:
      return "material beyond the apex";
    case CriterionFigure::width_against_plan_mm:
      return "width against plan";
    case CriterionFigure::terminus_to_working_length_mm:
      return "terminus to working length";
    case CriterionFigure::filled_length_mm:
      return "filled length";
  }
  return "";
}

std::string counted(std::size_t number, std::string_view one) {
  return std::to_string(number) + " " + std::string(one) + (number == 1 ? "" : "s");
}

std::string_view technique_words(Technique technique) {
  switch (technique) {
    case Technique::any:
      return "any technique";
    case Technique::warm_vertical:
      return "warm vertical";
    case Technique::lateral:
      return "lateral";
    case Technique::single_cone:
      return "single cone";
  }
  return "";
}

std::string percent_words(const std::optional<double>& percent) {
  return percent ? fixed(*percent, 0) + " %" : std::string(unknown);
}

std::string points_words(double points) { return shortest(std::round(points * 100.0) / 100.0); }

std::string points_words(const std::optional<double>& points) {
  return points ? points_words(*points) : std::string(unknown);
}

std::string mark_words(const Mark& mark) {
  if (!mark.percent) return "not marked";
  return percent_words(mark.percent) + ", " + points_words(mark.points) + " of " + points_words(mark.out_of) +
         " points: " + std::string(standing_words(mark.standing));
}

std::string place_words(const std::optional<Third>& third, Fault fault) {
  if (third) return std::string(third_words(*third)) + " third";
  switch (fault) {
    case Fault::film_low_contrast:
    case Fault::film_blurred:
    case Fault::apex_at_film_edge:
      return "the film";
    case Fault::ends_short:
    case Fault::canal_seen_empty:
    case Fault::ends_close_to_apex:
    case Fault::short_of_working_length:
    case Fault::past_working_length:
      return "at the apex";
    case Fault::fill_beyond_apex:
    case Fault::material_beyond_apex:
      return "beyond the apex";
    default:
      return "the whole fill";
  }
}

std::string limits_words(const std::optional<Limit>& lower, const std::optional<Limit>& upper,
                         std::string_view unit) {
  const std::string after = unit.empty() ? "" : " " + std::string(unit);
  if (!lower && !upper) return "any value";
  if (!upper) return (lower->inclusive ? "from " : "above ") + shortest(lower->value) + after;
  if (!lower) return (upper->inclusive ? "up to " : "below ") + shortest(upper->value) + after;
  return (lower->inclusive ? "from " : "above ") + shortest(lower->value) +
         (upper->inclusive ? " to " : " to below ") + shortest(upper->value) + after;
}

std::string award_words(const Award& award, const CriterionMark& mark, const RubricCriterion& criterion,
                        const Rubric& rubric) {
  if (award.sureness == Sureness::not_assessable) {
    const Unassessed rule = criterion.not_assessable.value_or(rubric.not_assessable);
    // The criterion's points stand on the canals that show it; only where none does is the mark out of less.
    const bool others_tell = rule == Unassessed::left_out && mark.points.has_value();
    return "not assessable" + (award.reason.empty() ? "" : ": " + award.reason) + "; it " +
           (others_tell ? "is left out, and only the canals that show it count" : std::string(rule_words(rule)));
  }
  std::string chances;
  for (std::size_t i = 0; i < award.chance.size(); ++i) {
    if (award.chance[i] < 1.0 - rubric.confidence) continue;
    chances += (chances.empty() ? "" : ", ") + probability(award.chance[i]) + " " + criterion.bands[i].text +
               " (" + points_words(criterion.bands[i].points) + ")";
  }
  std::string words = award.sureness == Sureness::sure ? chances : "too close to call: " + chances;
  return award.reason.empty() ? words : words + "; " + award.reason;
}

std::string condition_words(const ConditionMark& mark, const Rubric& rubric) {
  if (mark.sureness == Sureness::not_assessable) return mark.reason.empty() ? "not assessable" : mark.reason;
  std::string words;
  if (mark.chance) words = "chance " + probability(*mark.chance);
  if (mark.sureness == Sureness::too_close_to_call)
    words += std::string(", too close to call") +
             (rubric.too_close_to_call == CloseCall::benefit_of_the_doubt ? ": benefit of the doubt" : "");
  if (!mark.reason.empty()) words += (words.empty() ? "" : "; ") + mark.reason;
  return words;
}

Section basis_section(const PageBasis& basis) {
  const Rubric& rubric = basis.rubric;
  Facts facts;
  facts.facts = {
      {"Rubric", rubric.name + ", version " + rubric.version},
      {"Modelled on", rubric.source},
      {"Points", points_words(rubric.most_points()) + " in all; pass mark " +
                     shortest(rubric.pass_mark_percent) + " %"},
      {"Too close to call", "A figure lies in a band where the chance of that is at least " +
                                shortest(100.0 * rubric.confidence) +
                                " % (JCGM 106:2012). Where no number of points has this chance, " +
                                std::string(rule_words(rubric.too_close_to_call)) + "."},
      {"Not assessable",
       "What the film doesn't show " + std::string(rule_words(rubric.not_assessable)) +
           ". A deduction or an automatic fail needs a film that shows it, or a teacher who saw it."},
      {"Several canals", rubric.several_canals == SeveralCanals::worst
                             ? "The worst canal counts for each criterion."
                             : "Each criterion earns the mean of the canals."},
      {"Feedback",
       basis.feedback.name + ", version " + basis.feedback.version + ". " + basis.feedback.source + "."}};
  if (!rubric.note.empty()) facts.facts.insert(facts.facts.begin() + 2, {"Its edges", rubric.note});
  Section section{"basis", "How the marks are made", {facts}};
  section.blocks.push_back(
      Paragraph{"± is k = 2, about 95 %. " + apex_mark_assumption() + " " + joined(cautions(), " "),
                Paragraph::Kind::small});
  return section;
}

std::vector<std::string> foot_lines(const PageBasis& basis) {
  return {basis.program, "Rubric: " + basis.rubric.name + ", version " + basis.rubric.version};
}

}  // namespace canalrule::report
