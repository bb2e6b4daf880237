// The same reading and film give the same bytes, on any number of threads. Simulated films of usual and hard
// quality.
#include <doctest/doctest.h>
#include <opencv2/core/utility.hpp>

#include <canalrule/record/result.hpp>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

TEST_CASE("the same bytes on one and two threads, and again, usual and hard seeds 71 to 73") {
  const int threads_before = cv::getNumThreads();
  for (std::uint64_t seed = 71; seed <= 73; ++seed)
    for (const bool hard : {false, true}) {
      CAPTURE(seed);
      CAPTURE(hard);
      const Case opened =
          case_of(phantom::simulate(hard ? families::hard_film(seed) : families::usual_film(seed)));
      cv::setNumThreads(1);
      const std::string one = write_result(measure(opened));
      const std::string again = write_result(measure(opened));
      cv::setNumThreads(2);
      const std::string two = write_result(measure(opened, 2));
      CHECK(one == again);
      CHECK(one == two);
      CHECK_FALSE(one.empty());
    }
  cv::setNumThreads(threads_before);
}

TEST_CASE("the film is left as it was, usual seed 71") {
  const Case opened = case_of(phantom::simulate(families::usual_film(71)));
  const cv::Mat grey = opened.film.grey.clone();
  measure(opened);
  CHECK(cv::norm(grey, opened.film.grey, cv::NORM_INF) == 0.0);
}

TEST_CASE("two canals measured side by side or one after the other give the same bytes, hard seeds 28 and 29") {
  for (const std::uint64_t seed : {28, 29}) {
    CAPTURE(seed);
    const Case opened = case_of(phantom::simulate(families::hard_film(seed)));
    REQUIRE(opened.reading.canals.size() == 2);
    CHECK(write_result(measure(opened)) == write_result(measure(opened, 2)));
  }
}
