// The statistics against published worked examples. Values tagged "from memory" were not re-read in the paper;
// they agree with the stated formula.
// - Wilson's interval: Newcombe, Stat Med 1998;17:857-872, table I: 81/263, 15/148, 0/20, 1/29 (from memory).
// - Difference of shares: Newcombe, Stat Med 1998;17:873-890, table II, method 10: 56/70 - 48/80,
//   9/10 - 3/10, 6/7 - 2/7, 5/56 - 0/29, 0/10 - 0/20, 0/10 - 0/10, 10/10 - 0/20, 10/10 - 0/10 (from memory);
//   Fagerland, Lydersen, Laake, Stat Methods Med Res 2015;24:224-254: 7/34 - 1/34.
// - Difference of paired shares: Fagerland, Lydersen, Laake, Stat Med 2014;33:2850-2875: 59, 6, 16, 80.
// - Design effect: Rao and Scott, Biometrics 1992;48:577-585, table 1: survival of pups by litter (data of
//   Weil, Food Cosmet Toxicol 1970;8:177-182).
// - Bland and Altman, Lancet 1986;i:307-310: peak expiratory flow by two meters, twice each, 17 subjects.
// - Shrout and Fleiss, Psychol Bull 1979;86:420-428, tables 2 to 4: six subjects, four judges.
// - Kappa: Cohen, Educ Psychol Meas 1960;20:37-46, and Fleiss, Cohen, Everitt, Psychol Bull 1969;72:323-327,
//   on tables of two dermatologists (88 patients) and of two raters in three categories.
// - Sample size: Cochran, Sampling Techniques 1977, 4.4.
// - Generators: xoshiro256** from the state 1, 2, 3, 4 and SplitMix64 from the seed 1234567, by their authors'
//   reference implementations.
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/kappa.hpp>
#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

using namespace canalrule::statistics;

namespace {

/// A published figure of so many decimals: right to half a unit of the last.
doctest::Approx published(double value, int decimals) {
  return doctest::Approx(value).scale(0.0).epsilon(0.5001 * std::pow(10.0, -decimals) / std::abs(value));
}

void check_published(const Interval& interval, double low, double high, int decimals) {
  const double half_unit = 0.5001 * std::pow(10.0, -decimals);
  CHECK(std::abs(interval.low - low) <= half_unit);
  CHECK(std::abs(interval.high - high) <= half_unit);
}

Interval difference(std::size_t x, std::size_t m, std::size_t y, std::size_t n) {
  return *difference_of_shares(wilson(x, m), wilson(y, n)).interval;
}

/// Two meters (large and mini), each blown twice; litres per minute.
const std::vector<double> large_first{494, 395, 516, 434, 476, 557, 413, 442, 650,
                                      433, 417, 656, 267, 478, 178, 423, 427};
const std::vector<double> large_second{490, 397, 512, 401, 470, 611, 415, 431, 638,
                                       429, 420, 633, 275, 492, 165, 372, 421};
const std::vector<double> mini_first{512, 430, 520, 428, 500, 600, 364, 380, 658,
                                     445, 432, 626, 260, 477, 259, 350, 451};
const std::vector<double> mini_second{525, 415, 508, 444, 500, 625, 460, 390, 642,
                                      432, 420, 605, 227, 467, 268, 370, 443};

std::vector<Pair> paired(const std::vector<double>& first, const std::vector<double>& second) {
  std::vector<Pair> pairs;
  for (std::size_t i = 0; i < first.size(); ++i) pairs.push_back({first[i], second[i]});
  return pairs;
}

const Ratings six_by_four{{9, 2, 5, 8}, {6, 1, 3, 2},  {8, 4, 6, 8},
                          {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}};

const CategoryTable dermatologists{{10, 4, 1, 0}, {5, 10, 12, 2}, {2, 4, 12, 5}, {0, 2, 6, 13}};
const CategoryTable three_categories{{106, 10, 4}, {22, 28, 10}, {2, 12, 6}};

}  // namespace

TEST_CASE("Wilson's interval: the four examples of Newcombe 1998") {
  check_published(*wilson(81, 263).interval, 0.2553, 0.3662, 4);
  check_published(*wilson(15, 148).interval, 0.0624, 0.1605, 4);
  check_published(*wilson(0, 20).interval, 0.0, 0.1611, 4);
  check_published(*wilson(1, 29).interval, 0.0061, 0.1718, 4);
}

TEST_CASE("the difference of two shares: the examples of Newcombe 1998, method 10") {
  check_published(difference(56, 70, 48, 80), 0.0524, 0.3339, 4);
  check_published(difference(9, 10, 3, 10), 0.1705, 0.8090, 4);
  check_published(difference(6, 7, 2, 7), 0.0582, 0.8062, 4);
  check_published(difference(5, 56, 0, 29), -0.0381, 0.1926, 4);
  check_published(difference(0, 10, 0, 20), -0.1611, 0.2775, 4);
  check_published(difference(0, 10, 0, 10), -0.2775, 0.2775, 4);
  check_published(difference(10, 10, 0, 20), 0.6791, 1.0, 4);
  check_published(difference(10, 10, 0, 10), 0.6075, 1.0, 4);
}

TEST_CASE("the difference of two shares: the example of Fagerland, Lydersen and Laake") {
  check_published(difference(7, 34, 1, 34), 0.0189, 0.3404, 4);
}

TEST_CASE("the difference of paired shares: the example of Fagerland, Lydersen and Laake 2014") {
  const Estimate found = difference_of_paired_shares({59, 6, 16, 80});
  CHECK(*found.value == published(-0.0621, 4));
  check_published(*found.interval, -0.1186, -0.0046, 4);
}

TEST_CASE("the design effect: litters of Rao and Scott 1992") {
  const std::vector<Cluster> control{{13, 13}, {12, 12}, {9, 9}, {9, 9},   {8, 8}, {8, 8}, {12, 13}, {11, 12},
                                     {9, 10},  {9, 10},  {8, 9}, {11, 13}, {4, 5}, {5, 7}, {7, 10},  {7, 10}};
  const std::vector<Cluster> treated{{12, 12}, {11, 11}, {10, 10}, {9, 9}, {10, 11}, {9, 10},
                                     {9, 10},  {8, 9},   {8, 9},   {4, 5}, {7, 9},   {4, 7},
                                     {5, 10},  {3, 6},   {3, 10},  {0, 7}};
  CHECK(design_effect(control).value == published(1.232495, 6));
  CHECK(design_effect(treated).value == published(3.952861, 6));
  CHECK(design_effect(treated).method == DesignEffect::Method::ratio_estimator);
  const ClusteredShare share = clustered_share(treated);
  CHECK(share.counted == 112);
  CHECK(share.all == 145);
  CHECK(share.design.effective_size == doctest::Approx(145.0 / 3.952861).epsilon(1e-6));
}

TEST_CASE("limits of agreement: two peak flow meters, Bland and Altman 1986") {
  const BlandAltman found = bland_altman(paired(large_first, mini_first));
  CHECK(found.pairs == 17);
  CHECK(*found.bias.value == published(-2.1, 1));
  CHECK(*found.standard_deviation == published(38.8, 1));
  // The paper takes 2 standard deviations of rounded figures, -79.7 and 75.5; by 1.96 these are -78.1
  // and 73.9.
  CHECK(*found.lower_limit.value == published(-78.1, 1));
  CHECK(*found.upper_limit.value == published(73.9, 1));
  // Its standard error is 9.4, and t with 16 degrees of freedom 2.12, so that the interval reaches 19.9
  // either side.
  CHECK((found.bias.interval->high - found.bias.interval->low) / 2.0 == published(19.9, 1));
  // The paper's approximation of the limits' standard error, sqrt(3 s^2 / n), gives 16.3 and so -114.3 to
  // -45.1 and 40.9 to 110.1 about its limits (from memory): 34.6 either side. The later paper's, used here,
  // is 1.007 of it.
  const double half = *found.upper_limit.value - found.upper_limit.interval->low;
  CHECK(half == doctest::Approx(34.6).epsilon(0.01));
  CHECK(found.lower_limit.interval->high - *found.lower_limit.value == doctest::Approx(half));
}

TEST_CASE("Dahlberg's error: the same meters blown twice") {
  CHECK(*dahlberg_error(paired(large_first, large_second)).value == published(15.3, 1));
  CHECK(*dahlberg_error(paired(mini_first, mini_second)).value == published(19.9, 1));
  CHECK(*dahlberg_error(paired(large_first, large_second)).value == published(15.31, 2));
  CHECK(*dahlberg_error(paired(mini_first, mini_second)).value == published(19.91, 2));
}

TEST_CASE("intraclass correlations: six subjects, four judges, Shrout and Fleiss 1979") {
  const Icc found = intraclass_correlation(six_by_four);
  CHECK(found.mean_squares->between_subjects == published(11.24, 2));
  CHECK(found.mean_squares->between_raters == published(32.49, 2));
  CHECK(found.mean_squares->residual == published(1.02, 2));
  CHECK(*found.agreement.value == published(0.29, 2));
  CHECK(*found.consistency.value == published(0.71, 2));
  CHECK(*found.agreement.value == published(0.2898, 4));
  CHECK(*found.consistency.value == published(0.7148, 4));
  check_published(*found.agreement.interval, 0.019, 0.761, 3);    // from memory
  check_published(*found.consistency.interval, 0.342, 0.946, 3);  // from memory
}

TEST_CASE("kappa: the fourfold table 20, 5, 10, 15") {
  const Kappa found = cohen_kappa({{20, 5}, {10, 15}}, KappaWeights::none);
  CHECK(*found.observed_agreement == doctest::Approx(0.7));
  CHECK(*found.chance_agreement == doctest::Approx(0.5));
  CHECK(*found.kappa.value == doctest::Approx(0.4));
  CHECK(*found.standard_error == published(0.1270, 4));
  for (const KappaWeights weights : {KappaWeights::linear, KappaWeights::quadratic})
    CHECK(*cohen_kappa({{20, 5}, {10, 15}}, weights).kappa.value == doctest::Approx(0.4));
}

TEST_CASE("kappa: two dermatologists, four grades") {
  const Kappa simple = cohen_kappa(dermatologists, KappaWeights::none);
  const Kappa linear = cohen_kappa(dermatologists, KappaWeights::linear);
  CHECK(simple.pairs == 88);
  CHECK(*simple.kappa.value == published(0.3449, 4));
  CHECK(*simple.standard_error == published(0.0724, 4));
  check_published(*simple.kappa.interval, 0.2030, 0.4868, 4);  // from memory
  CHECK(*linear.kappa.value == published(0.5082, 4));
  CHECK(*linear.standard_error == published(0.0655, 4));       // from memory
  check_published(*linear.kappa.interval, 0.3798, 0.6366, 4);  // from memory
  CHECK(*cohen_kappa(dermatologists, KappaWeights::quadratic).kappa.value == published(0.6607, 4));
}

TEST_CASE("kappa: two raters, three categories") {
  const Kappa simple = cohen_kappa(three_categories, KappaWeights::none);
  CHECK(*simple.kappa.value == published(0.4286, 4));
  CHECK(*simple.standard_error == published(0.0537, 4));
  CHECK(*cohen_kappa(three_categories, KappaWeights::linear).kappa.value == published(0.4923, 4));
  CHECK(*cohen_kappa(three_categories, KappaWeights::quadratic).kappa.value == published(0.5667, 4));
}

TEST_CASE("sample sizes for an audit, Cochran 1977") {
  const auto size = [](double share, double half_width, std::optional<std::size_t> population) {
    return sample_size_normal({.expected_share = share, .half_width = half_width, .population = population})
        .size;
  };
  CHECK(size(0.5, 0.05, std::nullopt) == 385);
  CHECK(size(0.5, 0.05, 200) == 132);
  CHECK(size(0.5, 0.10, std::nullopt) == 97);
  CHECK(size(0.6, 0.05, std::nullopt) == 369);
  CHECK(size(0.9, 0.05, std::nullopt) == 139);
  CHECK(sample_size_normal({}).unlimited == published(384.15, 2));
}

TEST_CASE("the generators give their authors' numbers") {
  SeededWords from_state({1, 2, 3, 4});
  for (const std::uint64_t expected :
       {11520ULL, 0ULL, 1509978240ULL, 1215971899390074240ULL, 1216172134540287360ULL, 607988272756665600ULL,
        16172922978634559625ULL, 8476171486693032832ULL, 10595114339597558777ULL, 2904607092377533576ULL})
    CHECK(from_state.next() == expected);
  SeededWords from_seed(1234567);
  SeededWords by_hand(
      {6457827717110365317ULL, 3203168211198807973ULL, 9817491932198370423ULL, 4593380528125082431ULL});
  for (int i = 0; i < 10; ++i) CHECK(from_seed.next() == by_hand.next());
}
