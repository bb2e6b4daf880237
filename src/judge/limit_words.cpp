#include "limit_words.hpp"

#include <algorithm>
#include <cstddef>
#include <optional>

#include <canalrule/base/plain.hpp>
#include <canalrule/judge/conformity.hpp>

namespace canalrule {

namespace {

std::string range_words(const std::optional<Limit>& lower, const std::optional<Limit>& upper) {
  if (lower && upper && lower->inclusive && upper->inclusive)
    return lower->value == upper->value ? plain_shortest(lower->value)
                                        : plain_shortest(lower->value) + " to " + plain_shortest(upper->value);
  std::string words;
  if (lower) words = (lower->inclusive ? "≥ " : "> ") + plain_shortest(lower->value);
  if (upper)
    words += (words.empty() ? "" : ", ") + std::string(upper->inclusive ? "≤ " : "< ") + plain_shortest(upper->value);
  return words;
}

const char* third_word(Third third) {
  constexpr const char* thirds[] = {"apical third", "middle third", "coronal third"};
  return thirds[static_cast<std::size_t>(third)];
}

}  // namespace

std::string selection_words(const VoidSelection& selection) {
  std::string words = "score ≥ " + plain_shortest(selection.least_score);
  if (selection.least_length_mm > 0.0) words += ", ≥ " + plain_shortest(selection.least_length_mm) + " mm";
  if (selection.least_deficit > 0.0) words += ", deficit ≥ " + plain_shortest(selection.least_deficit);
  if (selection.third) words += std::string(", ") + third_word(*selection.third);
  return words;
}

std::string limit_words(const Criterion& criterion, const CanalResult& canal, const std::string& unit) {
  std::string words = range_words(criterion.lower, criterion.upper) + (unit.empty() ? "" : " " + unit);
  if (!on_voids(criterion.figure)) return words;
  if (criterion.figure == CriterionFigure::void_count && criterion.upper->value < 1.0) words = "none";
  words += " of " + selection_words(criterion.voids);
  if (!canal.voids) return words;
  const auto uncounted = std::count_if(canal.voids->begin(), canal.voids->end(),
                                       [&](const Void& found) { return !counts(found, criterion.voids); });
  if (uncounted > 0)
    words += "; " + std::to_string(uncounted) +
             (uncounted == 1 ? " found doesn't count" : " found don't count");
  return words;
}

}  // namespace canalrule
