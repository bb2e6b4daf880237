#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/distribution.hpp>

using namespace canalrule::statistics;

TEST_CASE("quantiles lie between order statistics, whatever the order of the values") {
  const std::vector<double> values{4.0, 1.0, 3.0, 2.0};
  CHECK(*quantile(values, 0.0) == 1.0);
  CHECK(*quantile(values, 0.25) == doctest::Approx(1.75));
  CHECK(*quantile(values, 0.5) == doctest::Approx(2.5));
  CHECK(*quantile(values, 1.0) == 4.0);
  CHECK_FALSE(quantile({}, 0.5));
  CHECK(*quantile(std::vector<double>{7.0}, 0.3) == 7.0);
}

TEST_CASE("a distribution by hand") {
  const std::vector<double> values{2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0};
  const Distribution found = distribution_of(values);
  CHECK(found.count == 8);
  CHECK(*found.mean.value == doctest::Approx(5.0));
  CHECK(*found.standard_deviation == doctest::Approx(2.13809));
  CHECK(found.mean.interval->high == doctest::Approx(5.0 + 2.364624 * 2.13809 / 2.828427));  // t, 7 degrees
  CHECK(*found.least == 2.0);
  CHECK(*found.median == 4.5);
  CHECK(*found.most == 9.0);
}

TEST_CASE("no value and one value say what is missing") {
  const Distribution none = distribution_of({});
  CHECK(none.count == 0);
  CHECK_FALSE(none.mean.value);
  CHECK_FALSE(none.median);
  CHECK_FALSE(none.mean.reason.empty());
  const Distribution one = distribution_of(std::vector<double>{3.0});
  CHECK(*one.mean.value == 3.0);
  CHECK(*one.median == 3.0);
  CHECK_FALSE(one.mean.interval);
  CHECK_FALSE(one.standard_deviation);
  CHECK_FALSE(one.mean.reason.empty());
}

TEST_CASE("a histogram counts every value once") {
  const std::vector<double> values{-0.1, 0.0, 0.49, 0.5, 0.99, 1.0, 1.5, 1.51};
  const Histogram found = histogram(values, 0.0, 0.5, 3);
  CHECK(found.counts == std::vector<std::size_t>{2, 2, 2});
  CHECK(found.below == 1);
  CHECK(found.above == 1);
}
