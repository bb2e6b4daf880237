#include "finding.hpp"

#include <algorithm>
#include <cmath>

#include <canalrule/base/plain.hpp>
#include <canalrule/judge/conformity.hpp>

#include "limit_words.hpp"

namespace canalrule {

namespace {

/// Probability of breaking a limit from which a void is named in the reason: what parts the strictest usual
/// confidence, 0.95, from certainty. Chosen here.
constexpr double worth_naming = 0.05;

Limit stricter(const Limit& limit, double least) { return least > limit.value ? Limit{least, false} : limit; }

/// Probability that this void counts and breaks the upper limit on its length or deficit.
double breaks_limit(const Void& found, const Criterion& criterion) {
  VoidSelection others = criterion.voids;
  const bool by_length = criterion.figure == CriterionFigure::longest_void_mm;
  double& least = by_length ? others.least_length_mm : others.least_deficit;
  const Limit limit = stricter(*criterion.upper, least);
  least = 0.0;
  const Quantity& value = by_length ? found.length_mm : found.deficit;
  return probability_that_it_counts(found, others) *
         (1.0 - probability_of_conformity(value, std::nullopt, limit));
}

/// P(at most `most` of the voids count), each counting on its own with its probability.
double probability_of_at_most(const std::vector<double>& each, double most) {
  std::vector<double> number{1.0};  // number[k]: probability that k of those seen so far count
  for (const double p : each) {
    number.push_back(0.0);
    for (std::size_t k = number.size() - 1; k > 0; --k) number[k] = number[k] * (1.0 - p) + number[k - 1] * p;
    number[0] *= 1.0 - p;
  }
  double sum = 0.0;
  for (std::size_t k = 0; k < number.size() && static_cast<double>(k) <= most; ++k) sum += number[k];
  return std::min(sum, 1.0);
}

double most_allowed(const Limit& upper) {
  return upper.inclusive ? std::floor(upper.value) : std::ceil(upper.value) - 1.0;
}

std::string void_words(const Void& found) {
  return "the void at " + plain_stretch(found.from_mm, found.to_mm) + ", score " + plain(found.score, 1);
}

}  // namespace

Finding find_voids(const CanalResult& canal, const Criterion& criterion) {
  Finding finding;
  if (!canal.voids) {
    finding.reason = words_for_missing(canal, criterion.figure, "voids could not be looked for");
    return finding;
  }
  finding.seen_over = {"voids"};
  if (criterion.voids.third && !canal.coronal_level_mm) {
    finding.reason =
        words_for_missing(canal, CriterionFigure::filled_length_mm, "the thirds of the fill are not known");
    return finding;
  }
  const bool by_number = criterion.figure == CriterionFigure::void_count;
  const bool by_length = criterion.figure == CriterionFigure::longest_void_mm;
  std::vector<double> breaking;
  const Void* likeliest = nullptr;
  double likeliest_breaks = worth_naming;
  double number = 0.0;
  for (const Void& found : *canal.voids) {
    const double breaks =
        by_number ? probability_that_it_counts(found, criterion.voids) : breaks_limit(found, criterion);
    breaking.push_back(breaks);
    if (breaks > likeliest_breaks) {
      likeliest = &found;
      likeliest_breaks = breaks;
    }
    if (!counts(found, criterion.voids)) continue;
    number += 1.0;
    const Quantity& value = by_length ? found.length_mm : found.deficit;
    if (!by_number && (!finding.figure || value.value > finding.figure->value)) finding.figure = value;
  }
  if (by_number) finding.figure = Quantity{number, 0.0};
  finding.probability = probability_of_at_most(breaking, by_number ? most_allowed(*criterion.upper) : 0.0);
  const std::string counted = selection_words(criterion.voids);
  finding.reason = likeliest != nullptr ? void_words(*likeliest) + "; counted: " + counted
                                        : "no void that counts was found (" + counted + ")";
  return finding;
}

}  // namespace canalrule
