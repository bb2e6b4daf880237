#include "distributions.hpp"

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <canalrule/base/fault.hpp>
#include <canalrule/statistics/estimate.hpp>

namespace canalrule::statistics {

double upper_probability(double level) {
  ensure(level > 0.0 && level < 1.0, "an interval's level lies between 0 and 1");
  return 0.5 + level / 2.0;
}

double normal_quantile(double probability) {
  return boost::math::quantile(boost::math::normal_distribution<double>(), probability);
}

double student_quantile(double probability, double degrees_of_freedom) {
  return boost::math::quantile(boost::math::students_t_distribution<double>(degrees_of_freedom), probability);
}

double fisher_quantile(double probability, double numerator_degrees, double denominator_degrees) {
  return boost::math::quantile(
      boost::math::fisher_f_distribution<double>(numerator_degrees, denominator_degrees), probability);
}

double chi_squared_quantile(double probability, double degrees_of_freedom) {
  return boost::math::quantile(boost::math::chi_squared_distribution<double>(degrees_of_freedom),
                               probability);
}

double binomial_at_most(std::size_t k, std::size_t all, double share) {
  return boost::math::cdf(boost::math::binomial_distribution<double>(static_cast<double>(all), share),
                          static_cast<double>(k));
}

double binomial_exactly(std::size_t k, std::size_t all, double share) {
  return boost::math::pdf(boost::math::binomial_distribution<double>(static_cast<double>(all), share),
                          static_cast<double>(k));
}

double normal_quantile_of_level(double level) { return normal_quantile(upper_probability(level)); }

}  // namespace canalrule::statistics
