#include <canalrule/judge/conformity.hpp>

#include <boost/math/distributions/normal.hpp>

namespace canalrule {

namespace {

double standard_normal(double x) { return boost::math::cdf(boost::math::normal_distribution<double>(), x); }

bool above(double value, const Limit& limit) {
  return limit.inclusive ? value >= limit.value : value > limit.value;
}
bool below(double value, const Limit& limit) {
  return limit.inclusive ? value <= limit.value : value < limit.value;
}

double probability_of_reaching(const Quantity& figure, double least) {
  return least > 0.0 ? probability_of_conformity(figure, Limit{least, true}, std::nullopt) : 1.0;
}

}  // namespace

double probability_of_conformity(const Quantity& figure, const std::optional<Limit>& lower,
                                 const std::optional<Limit>& upper) {
  const double y = figure.value;
  const double u = figure.standard_uncertainty;
  if (!(u > 0.0)) return (!lower || above(y, *lower)) && (!upper || below(y, *upper)) ? 1.0 : 0.0;
  const double below_upper = upper ? standard_normal((upper->value - y) / u) : 1.0;
  const double below_lower = lower ? standard_normal((lower->value - y) / u) : 0.0;
  return below_upper - below_lower;
}

Verdict verdict_of(double probability, double confidence) {
  if (probability >= confidence) return Verdict::within;
  if (probability <= 1.0 - confidence) return Verdict::outside;
  return Verdict::too_close_to_call;
}

bool counts(const Void& found, const VoidSelection& selection) {
  return (!selection.third || *selection.third == found.third) && found.score >= selection.least_score &&
         found.length_mm.value >= selection.least_length_mm && found.deficit.value >= selection.least_deficit;
}

double probability_that_it_counts(const Void& found, const VoidSelection& selection) {
  if (selection.third && *selection.third != found.third) return 0.0;
  return standard_normal(found.score - selection.least_score) *
         probability_of_reaching(found.length_mm, selection.least_length_mm) *
         probability_of_reaching(found.deficit, selection.least_deficit);
}

}  // namespace canalrule
