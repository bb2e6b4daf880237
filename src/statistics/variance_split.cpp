#include <canalrule/statistics/agreement.hpp>

#include <algorithm>
#include <map>

#include "moments.hpp"

namespace canalrule::statistics {

namespace {

/// The measurements of one subject, by rater.
using ByRater = std::map<std::size_t, std::vector<double>>;

/// Sums of squares of the nested layout, and the coefficients of its expected mean squares.
struct Nested {
  double subjects = 0.0, raters = 0.0, all = 0.0;  ///< how many subjects, raters of subjects, measurements
  double within = 0.0, between_raters = 0.0, between_subjects = 0.0;  ///< sums of squares
  double squares_over_subject = 0.0;                                  ///< sum of n(ij)^2 / n(i)
  double squares_of_cells = 0.0;                                      ///< sum of n(ij)^2
  double squares_of_subjects = 0.0;                                   ///< sum of n(i)^2
};

double size(const std::vector<double>& values) { return static_cast<double>(values.size()); }

Nested layout_of(const std::map<std::size_t, ByRater>& subjects) {
  Nested nested;
  std::vector<double> everything;
  for (const auto& [subject, raters] : subjects)
    for (const auto& [rater, values] : raters)
      everything.insert(everything.end(), values.begin(), values.end());
  const double grand = moments_of(everything).mean;
  for (const auto& [subject, raters] : subjects) {
    std::vector<double> own;
    for (const auto& [rater, values] : raters) own.insert(own.end(), values.begin(), values.end());
    const double mean = moments_of(own).mean;
    for (const auto& [rater, values] : raters) {
      const Moments cell = moments_of(values);
      nested.within += cell.sum_of_squares;
      nested.between_raters += size(values) * (cell.mean - mean) * (cell.mean - mean);
      nested.squares_over_subject += size(values) * size(values) / size(own);
      nested.squares_of_cells += size(values) * size(values);
      nested.raters += 1.0;
    }
    nested.between_subjects += size(own) * (mean - grand) * (mean - grand);
    nested.squares_of_subjects += size(own) * size(own);
    nested.subjects += 1.0;
    nested.all += size(own);
  }
  return nested;
}

void say(std::string& reason, const char* sentence) {
  if (!reason.empty()) reason += ' ';
  reason += sentence;
}

double not_negative(double variance, const char* if_cut, std::string& reason) {
  if (variance < 0.0) say(reason, if_cut);
  return std::max(0.0, variance);
}

void put_components(VarianceSplit& split, const Nested& nested) {
  const double within_degrees = nested.all - nested.raters;
  const double rater_degrees = nested.raters - nested.subjects;
  const double subject_degrees = nested.subjects - 1.0;
  double within = 0.0;
  if (within_degrees > 0.0) {
    within = nested.within / within_degrees;
    split.within_rater = within;
  } else {
    say(split.reason, "Nobody measured the same twice, so that this part stands within what persons differ by.");
  }
  double raters = 0.0;
  if (rater_degrees > 0.0) {
    const double weight = (nested.all - nested.squares_over_subject) / rater_degrees;
    raters = not_negative((nested.between_raters / rater_degrees - within) / weight,
                          "What persons differ by came out below 0 and is taken as 0.", split.reason);
    split.between_raters = raters;
  } else {
    say(split.reason, "No two persons measured the same.");
  }
  if (subject_degrees > 0.0) {
    const double of_raters =
        (nested.squares_over_subject - nested.squares_of_cells / nested.all) / subject_degrees;
    const double of_subjects = (nested.all - nested.squares_of_subjects / nested.all) / subject_degrees;
    split.between_subjects =
        not_negative((nested.between_subjects / subject_degrees - within - of_raters * raters) / of_subjects,
                     "The part of what was measured came out below 0 and is taken as 0.", split.reason);
  } else {
    say(split.reason, "Only one was measured more than once.");
  }
}

void put_stated(VarianceSplit& split, std::span<const Observation> observations,
                const std::map<std::size_t, ByRater>& subjects) {
  double stated = 0.0;
  for (const Observation& one : observations) {
    if (!subjects.contains(one.subject)) continue;
    if (!one.standard_uncertainty) {
      say(split.reason, "Not every measurement states its uncertainty.");
      return;
    }
    stated += *one.standard_uncertainty * *one.standard_uncertainty;
  }
  split.stated = stated / static_cast<double>(split.measurements);
  const double repeated = split.between_raters.value_or(0.0) + split.within_rater.value_or(0.0);
  split.beyond_stated = std::max(0.0, repeated - *split.stated);
}

}  // namespace

VarianceSplit variance_split(std::span<const Observation> observations) {
  std::map<std::size_t, ByRater> subjects;
  std::map<std::size_t, std::size_t> times;
  for (const Observation& one : observations) {
    subjects[one.subject][one.rater].push_back(one.value);
    ++times[one.subject];
  }
  std::erase_if(subjects, [&](const auto& subject) { return times.at(subject.first) < 2; });
  VarianceSplit split;
  split.subjects = subjects.size();
  for (const auto& [subject, raters] : subjects) split.measurements += times.at(subject);
  if (subjects.empty()) {
    split.reason = "Nothing was measured more than once.";
    return split;
  }
  put_components(split, layout_of(subjects));
  put_stated(split, observations, subjects);
  return split;
}

}  // namespace canalrule::statistics
