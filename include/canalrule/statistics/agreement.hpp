#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <canalrule/statistics/estimate.hpp>

/// Agreement of measured figures, in the figure's own unit.
namespace canalrule::statistics {

/// The same thing measured twice.
struct Pair {
  double first = 0.0;
  double second = 0.0;
};

/// Bland and Altman's limits of agreement (Lancet 1986;i:307-310; Stat Methods Med Res 1999;8:135-160).
struct BlandAltman {
  std::size_t pairs = 0;
  Estimate bias;  ///< mean of first - second; interval by t with pairs - 1 degrees of freedom
  std::optional<double> standard_deviation;  ///< of the differences; from 2 pairs on
  /// bias -/+ z s; intervals by t and SE^2 = s^2 (1/n + z^2 / (2 (n - 1))).
  Estimate lower_limit, upper_limit;
};
/// z is the normal quantile of `level` (1.96 for 0.95), t of the same level. Fewer than 2 pairs give the bias
/// without interval and no limits; differences all alike give limits equal to the bias.
BlandAltman bland_altman(std::span<const Pair> pairs, double level = usual_level);

/// Dahlberg's error, sqrt(sum of squared differences / 2n) (Dahlberg 1940): the standard deviation of a
/// single measurement where the two don't differ systematically. Interval: that of a standard deviation by
/// chi-squared with n degrees of freedom.
Estimate dahlberg_error(std::span<const Pair> pairs, double level = usual_level);

/// What each of n subjects got from each of the same k raters: one row a subject, all of k values.
using Ratings = std::vector<std::vector<double>>;

/// Two-way analysis of variance without repeats. Shrout and Fleiss's letters: BMS, JMS, EMS.
struct TwoWayMeanSquares {
  double between_subjects = 0.0;
  double between_raters = 0.0;
  double residual = 0.0;
};

/// Intraclass correlations of single ratings (Shrout and Fleiss, Psychol Bull 1979;86:420-428), intervals as
/// there and in McGraw and Wong, Psychol Methods 1996;1:30-46 (ICC(A,1) and ICC(C,1)).
struct Icc {
  std::size_t subjects = 0;
  std::size_t raters = 0;
  std::optional<TwoWayMeanSquares> mean_squares;
  Estimate agreement;    ///< ICC(2,1): raters drawn at random, their systematic differences counted in
  Estimate consistency;  ///< ICC(3,1): these raters only, systematic differences left out
};
/// Fewer than 2 subjects or raters, and ratings that don't vary at all, give no value. Where subjects and
/// raters leave no residual, there is no interval; nor has ICC(2,1) one where the subjects differ so much less
/// than the raters do that the approximation to its degrees of freedom falls below 1.
Icc intraclass_correlation(const Ratings& ratings, double level = usual_level);

/// One measurement of one subject by one rater, and the standard uncertainty that was stated with it.
struct Observation {
  std::size_t subject = 0;  ///< any numbers that tell subjects apart
  std::size_t rater = 0;    ///< any numbers that tell raters apart
  double value = 0.0;
  std::optional<double> standard_uncertainty;
};

/// Where the spread of repeated measurements comes from, as variances in the square of the data's unit.
/// Nested analysis of variance (rater within subject, repeat within rater) with unequal numbers, by expected
/// mean squares (Searle, Linear Models 1971, chapter 11); a negative estimate is taken as 0 and said.
struct VarianceSplit {
  std::size_t subjects = 0;      ///< measured more than once
  std::size_t measurements = 0;  ///< of those subjects
  std::optional<double> between_subjects;
  std::optional<double> between_raters;  ///< from one rater to another on the same subject
  std::optional<double> within_rater;    ///< from one time to the next of the same rater
  /// Mean square of the stated standard uncertainties, where every measurement of those subjects has one.
  std::optional<double> stated;
  /// Of repeated measurements of one subject by different raters (or, where no subject has two raters, by the
  /// same): what is left of the variance when the stated part is taken off, at least 0; the hands of the
  /// readers beyond what the stated uncertainty grants.
  std::optional<double> beyond_stated;
  std::string reason;  ///< one sentence on every part that is missing or was cut to 0; empty where all stand
};
VarianceSplit variance_split(std::span<const Observation> observations);

}  // namespace canalrule::statistics
