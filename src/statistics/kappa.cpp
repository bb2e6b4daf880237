#include <canalrule/statistics/kappa.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>

#include "distributions.hpp"

namespace canalrule::statistics {

namespace {

double weight(std::size_t i, std::size_t j, std::size_t categories, KappaWeights weights) {
  if (weights == KappaWeights::none) return i == j ? 1.0 : 0.0;
  const double apart =
      (static_cast<double>(i) - static_cast<double>(j)) / static_cast<double>(categories - 1);
  return weights == KappaWeights::linear ? 1.0 - std::abs(apart) : 1.0 - apart * apart;
}

/// A table of shares with what the standard error needs.
struct Shares {
  std::vector<std::vector<double>> cell;
  std::vector<double> first, second;  ///< margins

  Shares(const CategoryTable& table, double all)
      : cell(table.size(), std::vector<double>(table.size())), first(table.size()), second(table.size()) {
    for (std::size_t i = 0; i < table.size(); ++i)
      for (std::size_t j = 0; j < table.size(); ++j) {
        cell[i][j] = static_cast<double>(table[i][j]) / all;
        first[i] += cell[i][j];
        second[j] += cell[i][j];
      }
  }
};

double standard_error_of(const Shares& shares, KappaWeights weights, double kappa, double chance,
                         double all) {
  const std::size_t k = shares.first.size();
  std::vector<double> by_first(k, 0.0),
      by_second(k, 0.0);  // mean weight of a category against the other's margin
  for (std::size_t i = 0; i < k; ++i)
    for (std::size_t j = 0; j < k; ++j) {
      by_first[i] += shares.second[j] * weight(i, j, k, weights);
      by_second[j] += shares.first[i] * weight(i, j, k, weights);
    }
  double sum = 0.0;
  for (std::size_t i = 0; i < k; ++i)
    for (std::size_t j = 0; j < k; ++j) {
      const double part = weight(i, j, k, weights) - (by_first[i] + by_second[j]) * (1.0 - kappa);
      sum += shares.cell[i][j] * part * part;
    }
  const double mean = kappa - chance * (1.0 - kappa);
  return std::sqrt(std::max(0.0, sum - mean * mean) / all) / (1.0 - chance);
}

}  // namespace

CategoryTable category_table(std::span<const std::pair<std::size_t, std::size_t>> pairs,
                             std::size_t categories) {
  CategoryTable table(categories, std::vector<std::size_t>(categories, 0));
  for (const auto& [first, second] : pairs) {
    ensure(first < categories && second < categories, "a category is one of the table's");
    ++table[first][second];
  }
  return table;
}

Kappa cohen_kappa(const CategoryTable& table, KappaWeights weights, double level) {
  const double z = normal_quantile_of_level(level);
  ensure(table.size() >= 2, "there are two categories or more");
  Kappa result;
  bool disagreed = false;
  for (std::size_t i = 0; i < table.size(); ++i) {
    ensure(table[i].size() == table.size(), "a table of categories is square");
    for (std::size_t j = 0; j < table.size(); ++j) {
      result.pairs += table[i][j];
      disagreed = disagreed || (i != j && table[i][j] > 0);
    }
  }
  if (result.pairs == 0) {
    result.kappa.reason = "Nothing was rated twice.";
    return result;
  }
  const double all = static_cast<double>(result.pairs);
  const Shares shares(table, all);
  double observed = 0.0, chance = 0.0;
  std::size_t used_first = 0, used_second = 0, used_both = 0;
  for (std::size_t i = 0; i < table.size(); ++i) {
    for (std::size_t j = 0; j < table.size(); ++j) {
      observed += weight(i, j, table.size(), weights) * shares.cell[i][j];
      chance += weight(i, j, table.size(), weights) * shares.first[i] * shares.second[j];
    }
    used_first += shares.first[i] > 0.0 ? 1 : 0;
    used_second += shares.second[i] > 0.0 ? 1 : 0;
    used_both += shares.first[i] > 0.0 && shares.second[i] > 0.0 ? 1 : 0;
  }
  result.observed_agreement = std::min(1.0, observed);
  result.chance_agreement = std::min(1.0, chance);
  if (used_first == 1 && used_second == 1 && used_both == 1) {
    result.observed_agreement = result.chance_agreement = 1.0;
    result.kappa.reason = "Only one category was used, so that chance alone would agree as well.";
    return result;
  }
  if (!disagreed) {
    result.observed_agreement = 1.0;
    result.kappa.value = 1.0;
    result.standard_error = 0.0;
    result.kappa.reason = "All agree, so that there is no interval.";
    return result;
  }
  const double kappa = (observed - chance) / (1.0 - chance);
  result.kappa.value = kappa;
  result.standard_error = standard_error_of(shares, weights, kappa, chance, all);
  if (!(*result.standard_error > 0.0)) {
    result.kappa.reason = "Too few readings differ to tell how sure it is: there is no interval.";
    return result;
  }
  const double half = z * *result.standard_error;
  result.kappa.interval = Interval{std::max(-1.0, kappa - half), std::min(1.0, kappa + half)};
  return result;
}

}  // namespace canalrule::statistics
