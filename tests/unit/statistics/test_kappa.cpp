#include <utility>
#include <vector>

#include <doctest/doctest.h>

#include <canalrule/statistics/kappa.hpp>
#include <canalrule/statistics/planning.hpp>

using namespace canalrule::statistics;

namespace {

constexpr KappaWeights all_weights[]{KappaWeights::none, KappaWeights::linear, KappaWeights::quadratic};

CategoryTable drawn_table(std::size_t categories, std::uint64_t seed) {
  SeededWords words(seed);
  CategoryTable table(categories, std::vector<std::size_t>(categories));
  for (auto& row : table)
    for (std::size_t& cell : row) cell = static_cast<std::size_t>(words.below(20));
  table[0][1] += 1;
  return table;
}

CategoryTable transposed(const CategoryTable& table) {
  CategoryTable turned = table;
  for (std::size_t i = 0; i < table.size(); ++i)
    for (std::size_t j = 0; j < table.size(); ++j) turned[i][j] = table[j][i];
  return turned;
}

}  // namespace

TEST_CASE("pairs are counted into their cells") {
  const std::vector<std::pair<std::size_t, std::size_t>> pairs{{0, 0}, {0, 2}, {2, 1}, {0, 2}};
  CHECK(category_table(pairs, 3) == CategoryTable{{1, 0, 2}, {0, 0, 0}, {0, 1, 0}});
}

TEST_CASE("kappa doesn't ask who rated first, and its interval holds it within -1 and 1") {
  for (const KappaWeights weights : all_weights)
    for (std::uint64_t seed = 1; seed <= 50; ++seed) {
      const CategoryTable table = drawn_table(2 + seed % 4, seed);
      const Kappa found = cohen_kappa(table, weights), turned = cohen_kappa(transposed(table), weights);
      REQUIRE(found.kappa.value);
      CHECK(*turned.kappa.value == doctest::Approx(*found.kappa.value).epsilon(1e-12));
      CHECK(*turned.standard_error == doctest::Approx(*found.standard_error).epsilon(1e-9));
      CHECK(found.kappa.interval->low <= *found.kappa.value);
      CHECK(found.kappa.interval->high >= *found.kappa.value);
      CHECK(found.kappa.interval->low >= -1.0);
      CHECK(found.kappa.interval->high <= 1.0);
    }
}

TEST_CASE("of readings that tell no spread there is no interval, and not one of no width") {
  for (const CategoryTable& table : {CategoryTable{{0, 1}, {0, 0}}, CategoryTable{{0, 0}, {3, 5}}}) {
    const Kappa found = cohen_kappa(table, KappaWeights::none);
    CHECK(*found.kappa.value == doctest::Approx(0.0));
    CHECK_FALSE(found.kappa.interval.has_value());
    CHECK_FALSE(found.kappa.reason.empty());
  }
}

TEST_CASE("independent ratings have a kappa of 0, whatever the weights") {
  const CategoryTable independent{{6, 12, 18}, {4, 8, 12}, {2, 4, 6}};
  for (const KappaWeights weights : all_weights)
    CHECK(*cohen_kappa(independent, weights).kappa.value == doctest::Approx(0.0).epsilon(1e-12));
}

TEST_CASE("more of the same narrows the interval by the root of the number") {
  const CategoryTable once{{9, 3, 1}, {2, 11, 4}, {0, 3, 8}};
  CategoryTable fourfold = once;
  for (auto& row : fourfold)
    for (std::size_t& cell : row) cell *= 4;
  for (const KappaWeights weights : all_weights) {
    const Kappa one = cohen_kappa(once, weights), four = cohen_kappa(fourfold, weights);
    CHECK(*four.kappa.value == doctest::Approx(*one.kappa.value));
    CHECK(*four.standard_error == doctest::Approx(*one.standard_error / 2.0));
  }
}

TEST_CASE("near misses cost less than far ones where weights say so") {
  const CategoryTable near{{10, 5, 0}, {0, 10, 5}, {0, 0, 10}}, far{{10, 0, 5}, {5, 10, 0}, {0, 0, 10}};
  CHECK(*cohen_kappa(near, KappaWeights::linear).observed_agreement >
        *cohen_kappa(far, KappaWeights::linear).observed_agreement);
  CHECK(*cohen_kappa(near, KappaWeights::none).observed_agreement ==
        doctest::Approx(*cohen_kappa(far, KappaWeights::none).observed_agreement));
}

TEST_CASE("degenerate tables give a reason") {
  const Kappa nothing = cohen_kappa({{0, 0}, {0, 0}}, KappaWeights::none);
  CHECK_FALSE(nothing.kappa.value);
  CHECK_FALSE(nothing.kappa.reason.empty());
  const Kappa one_category = cohen_kappa({{0, 0}, {0, 7}}, KappaWeights::quadratic);
  CHECK(one_category.pairs == 7);
  CHECK(*one_category.observed_agreement == 1.0);
  CHECK_FALSE(one_category.kappa.value);
  CHECK_FALSE(one_category.kappa.reason.empty());
  const Kappa perfect = cohen_kappa({{3, 0}, {0, 4}}, KappaWeights::linear);
  CHECK(*perfect.kappa.value == 1.0);
  CHECK_FALSE(perfect.kappa.interval);
  CHECK_FALSE(perfect.kappa.reason.empty());
  const Kappa never = cohen_kappa({{0, 5}, {0, 0}}, KappaWeights::none);
  CHECK(*never.kappa.value == doctest::Approx(0.0));
}
