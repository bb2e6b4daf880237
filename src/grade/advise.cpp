#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/base/plain.hpp>
#include <canalrule/grade/grade.hpp>
#include <set>
#include <tuple>

#include "faults.hpp"

namespace canalrule {

namespace {

constexpr double shown_coverage = 2.0;  ///< k of what is shown to a person, about 95 % (JCGM 100:2008, 6.2)

std::string replaced(std::string text, const std::string& from, const std::string& by) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + by.size()))
    text.replace(at, from.size(), by);
  return text;
}

std::string place_words(const FoundFault& found, const std::string& canal) {
  constexpr const char* thirds[] = {"apical", "middle", "coronal"};
  std::string words = "Canal " + canal;
  if (found.third) words += std::string(", ") + thirds[static_cast<std::size_t>(*found.third)] + " third";
  if (!found.from_mm) return words;
  if (*found.to_mm - *found.from_mm < 0.05)
    return words + ", " + plain(*found.from_mm, 1) + " mm from the apex";
  if (*found.to_mm <= 0.0) return words + ", from the apex to " + plain(-*found.from_mm, 1) + " mm beyond it";
  return words + ", " + plain_stretch(*found.from_mm, *found.to_mm) + " from the apex";
}

Advice advice_on(const FoundFault& found, const std::string& canal, const std::string& criterion,
                 const Feedback& feedback, Technique technique) {
  const FaultText& text = feedback.of(found.fault);
  Advice advice{found.fault,     criterion, canal, found.from_mm, found.to_mm, found.third, text.title,
                text.looks_like, "",        {}};
  advice.where =
      replaced(replaced(text.where, "{place}", place_words(found, canal)), "{figure}", found.figure);
  for (const Question& question : text.questions)
    if (technique == Technique::any || question.technique == Technique::any ||
        question.technique == technique)
      advice.questions.push_back(question);
  return advice;
}

/// The values that a condition leaves alone.
Band spared(const MeasuredCondition& condition) {
  Band best;
  if (condition.lower) best.upper = Limit{condition.lower->value, !condition.lower->inclusive};
  if (condition.upper) best.lower = Limit{condition.upper->value, !condition.upper->inclusive};
  return best;
}

/// Collects faults, each said once.
class Sayer {
 public:
  Sayer(const Feedback& feedback, Technique technique) : feedback_(feedback), technique_(technique) {}

  void say(const CanalResult& canal, const Looked& looked, const Band& best, const std::string& criterion) {
    for (const FoundFault& found : find_faults(canal, looked, best)) {
      const auto key = std::make_tuple(found.fault, canal.name, found.from_mm, found.to_mm);
      if (said_.insert(key).second)
        all_.push_back(advice_on(found, canal.name, criterion, feedback_, technique_));
    }
  }

  std::vector<Advice> take() { return std::move(all_); }

 private:
  const Feedback& feedback_;
  Technique technique_;
  std::set<std::tuple<Fault, std::string, std::optional<double>, std::optional<double>>> said_;
  std::vector<Advice> all_;
};

}  // namespace

Band best_stretch(const RubricCriterion& criterion) {
  const auto full = [&](const Band& band) { return band.points == criterion.points; };
  const auto first = std::find_if(criterion.bands.begin(), criterion.bands.end(), full);
  const auto last = std::find_if(criterion.bands.rbegin(), criterion.bands.rend(), full);
  ensure(first != criterion.bands.end(), "a band earns full points");
  return {first->lower, last->upper, criterion.points, first->text};
}

std::string figure_words(const std::optional<Quantity>& figure, const RubricFigure& of) {
  if (!figure) return "";
  const auto* measured = std::get_if<CriterionFigure>(&of);
  if (measured != nullptr && *measured == CriterionFigure::void_count) return plain(figure->value, 0);
  const std::string unit(unit_of(of));
  const int decimals = unit == "mm per mm" ? 3 : (unit == "standard deviations" ? 1 : 2);
  std::string words = plain(figure->value, decimals);
  if (figure->standard_uncertainty > 0.0)
    words += " ± " + plain(shown_coverage * figure->standard_uncertainty, decimals);
  return unit.empty() ? words : words + " " + unit;
}

std::vector<Advice> advise(const Result& result, const Mark& mark, const Rubric& rubric,
                           const Feedback& feedback, Technique technique) {
  ensure(mark.criteria.size() == rubric.criteria.size(), "the mark is by this rubric");
  Sayer sayer(feedback, technique);
  for (std::size_t c = 0; c < result.canals.size(); ++c) {
    const CanalResult& canal = result.canals[c];
    for (std::size_t i = 0; i < rubric.criteria.size(); ++i) {
      const RubricCriterion& criterion = rubric.criteria[i];
      const Award& award = mark.criteria[i].awards.at(c);
      if (!award.band || criterion.bands[*award.band].points == criterion.points) continue;
      sayer.say(canal, criterion.looked, best_stretch(criterion), criterion.id);
    }
    for (const std::vector<RubricCondition>* conditions : {&rubric.deductions, &rubric.automatic_fails})
      for (const RubricCondition& condition : *conditions)
        if (const auto* measured = std::get_if<MeasuredCondition>(&condition.when))
          sayer.say(canal, measured->looked, spared(*measured), condition.id);
  }
  return sayer.take();
}

}  // namespace canalrule
