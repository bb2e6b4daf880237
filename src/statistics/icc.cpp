#include <canalrule/statistics/agreement.hpp>

#include <algorithm>
#include <optional>

#include <canalrule/base/fault.hpp>

#include "distributions.hpp"
#include "moments.hpp"

namespace canalrule::statistics {

namespace {

/// A mean square this much smaller than the largest is what rounding leaves of 0.
constexpr double rounding = 1e-20;  // the square of 1e-10 of a value, far above a double's own 1e-16

struct Layout {
  double n;  ///< subjects
  double k;  ///< raters
};

/// Means are taken about a value of their own, so that values all alike leave exactly nothing.
TwoWayMeanSquares mean_squares(const Ratings& ratings, const Layout& of) {
  std::vector<double> all, subjects, raters;
  for (const std::vector<double>& row : ratings) {
    all.insert(all.end(), row.begin(), row.end());
    subjects.push_back(moments_of(row).mean);
  }
  for (std::size_t j = 0; j < ratings.front().size(); ++j) {
    std::vector<double> of_rater;
    for (const std::vector<double>& row : ratings) of_rater.push_back(row[j]);
    raters.push_back(moments_of(of_rater).mean);
  }
  const double grand = moments_of(all).mean;
  double residual = 0.0;
  for (std::size_t i = 0; i < ratings.size(); ++i)
    for (std::size_t j = 0; j < raters.size(); ++j) {
      const double left = ratings[i][j] - subjects[i] - raters[j] + grand;
      residual += left * left;
    }
  return {of.k * moments_of(subjects).sum_of_squares / (of.n - 1.0),
          of.n * moments_of(raters).sum_of_squares / (of.k - 1.0), residual / ((of.n - 1.0) * (of.k - 1.0))};
}

/// The square of the largest value: what rounding is measured by.
double largest_square(const Ratings& ratings) {
  double largest = 0.0;
  for (const std::vector<double>& row : ratings)
    for (const double value : row) largest = std::max(largest, value * value);
  return largest;
}

Interval consistency_interval(const TwoWayMeanSquares& ms, const Layout& of, double upper) {
  const double ratio = ms.between_subjects / ms.residual;
  const double degrees = (of.n - 1.0) * (of.k - 1.0);
  const double low = ratio / fisher_quantile(upper, of.n - 1.0, degrees);
  const double high = ratio * fisher_quantile(upper, degrees, of.n - 1.0);
  return {(low - 1.0) / (low + of.k - 1.0), (high - 1.0) / (high + of.k - 1.0)};
}

/// McGraw and Wong 1996, table 7, ICC(A,1), with the degrees of freedom after Satterthwaite. Below one of
/// these, which takes subjects that differ far less than their ratings do, his approximation says nothing any
/// more.
std::optional<Interval> agreement_interval(const TwoWayMeanSquares& ms, const Layout& of, double rho,
                                           double upper) {
  const auto& [b, j, e] = ms;
  const double odds = rho / (1.0 - rho);
  const double of_raters = of.k * odds / of.n * j;
  const double of_residual = (1.0 + of.k * (of.n - 1.0) * odds / of.n) * e;
  const double sum = of_raters + of_residual;
  const double degrees =
      sum * sum /
      (of_raters * of_raters / (of.k - 1.0) + of_residual * of_residual / ((of.n - 1.0) * (of.k - 1.0)));
  if (!(degrees >= 1.0)) return std::nullopt;
  const double low = fisher_quantile(upper, of.n - 1.0, degrees);
  const double high = fisher_quantile(upper, degrees, of.n - 1.0);
  const double others = of.k * j + (of.k * of.n - of.k - of.n) * e;
  return Interval{of.n * (b - low * e) / (low * others + of.n * b),
                  of.n * (high * b - e) / (others + of.n * high * b)};
}

}  // namespace

Icc intraclass_correlation(const Ratings& ratings, double level) {
  const double upper = upper_probability(level);
  Icc icc;
  icc.subjects = ratings.size();
  icc.raters = ratings.empty() ? 0 : ratings.front().size();
  for (const std::vector<double>& row : ratings)
    ensure(row.size() == icc.raters, "every subject has a rating of every rater");
  const auto without_value = [&](const char* reason) {
    icc.agreement.reason = icc.consistency.reason = reason;
    return icc;
  };
  if (icc.subjects < 2) return without_value("Fewer than two were measured by all.");
  if (icc.raters < 2) return without_value("Nobody measured a second time.");
  const Layout of{static_cast<double>(icc.subjects), static_cast<double>(icc.raters)};
  const TwoWayMeanSquares ms = mean_squares(ratings, of);
  icc.mean_squares = ms;
  const auto& [b, j, e] = ms;
  const double largest = std::max({b, j, e});
  if (!(largest > rounding * largest_square(ratings))) return without_value("All values are the same.");
  const double agreement_of = b + (of.k - 1.0) * e + of.k * (j - e) / of.n;
  const double consistency_of = b + (of.k - 1.0) * e;
  if (agreement_of > rounding * largest)
    icc.agreement.value = (b - e) / agreement_of;
  else
    icc.agreement.reason = "The measured ones don't differ.";
  if (consistency_of > rounding * largest)
    icc.consistency.value = (b - e) / consistency_of;
  else
    icc.consistency.reason = "The measured ones don't differ.";
  if (e <= rounding * largest) {
    const char* exact = "Nothing is left unexplained, so that there is no interval.";
    if (icc.agreement.value) icc.agreement.reason = exact;
    if (icc.consistency.value) icc.consistency.reason = exact;
    return icc;
  }
  if (icc.agreement.value) {
    icc.agreement.interval = agreement_interval(ms, of, *icc.agreement.value, upper);
    if (!icc.agreement.interval)
      icc.agreement.reason = "The measured ones differ too little among themselves for an interval.";
  }
  if (icc.consistency.value) icc.consistency.interval = consistency_interval(ms, of, upper);
  return icc;
}

}  // namespace canalrule::statistics
