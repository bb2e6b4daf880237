#include <canalrule/statistics/proportion.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>

#include "distributions.hpp"

namespace canalrule::statistics {

namespace {

double square(double x) { return x * x; }

/// Limits that square-and-add gives about d, from the distances of both shares to the ends of their
/// intervals.
Interval squared_and_added(double d, const Estimate& first, const Estimate& second, double phi) {
  const double first_down = *first.value - first.interval->low;
  const double first_up = first.interval->high - *first.value;
  const double second_down = *second.value - second.interval->low;
  const double second_up = second.interval->high - *second.value;
  const double down = square(first_down) + square(second_up) - 2.0 * phi * first_down * second_up;
  const double up = square(first_up) + square(second_down) - 2.0 * phi * first_up * second_down;
  return {std::max(-1.0, d - std::sqrt(std::max(0.0, down))),
          std::min(1.0, d + std::sqrt(std::max(0.0, up)))};
}

/// The correlation of two columns of a fourfold table, drawn in by half a thing where it is positive.
double continuity_corrected_phi(const PairedCounts& counts) {
  const double both = static_cast<double>(counts.both);
  const double first = static_cast<double>(counts.first_only);
  const double second = static_cast<double>(counts.second_only);
  const double neither = static_cast<double>(counts.neither);
  const double all = both + first + second + neither;
  const double margins = (both + first) * (second + neither) * (both + second) * (first + neither);
  if (margins == 0.0) return 0.0;
  double product = both * neither - first * second;
  if (product > 0.0) product = std::max(0.0, product - all / 2.0);
  return product / std::sqrt(margins);
}

/// The interpolated count below which lies a tail of this probability, as a share.
double binomial_limit(double overall, std::size_t all, double tail) {
  std::size_t low = 0, high = all;  // the least count whose tail is larger lies between
  while (low < high) {
    const std::size_t middle = low + (high - low) / 2;
    if (binomial_at_most(middle, all, overall) > tail)
      high = middle;
    else
      low = middle + 1;
  }
  const double surplus = binomial_at_most(low, all, overall) - tail;
  const double step = binomial_exactly(low, all, overall);
  const double count = static_cast<double>(low) - (step > 0.0 ? surplus / step : 0.0);
  return std::clamp(count / static_cast<double>(all), 0.0, 1.0);
}

/// What the design effects of groups have in common.
struct Pooled {
  std::size_t clusters = 0;
  double all = 0.0;
  double squares = 0.0;      ///< of the clusters' sizes
  double clustered = 0.0;    ///< sum of n^2 v, over groups of two clusters or more
  double independent = 0.0;  ///< sum of n p (1 - p), over the same groups

  void add(const std::vector<Cluster>& group) {
    double own_clusters = 0.0, own_counted = 0.0, own_all = 0.0, residuals = 0.0;
    for (const Cluster& cluster : group) {
      ensure(cluster.counted <= cluster.all, "no more is counted than there is");
      if (cluster.all == 0) continue;
      own_clusters += 1.0;
      own_counted += static_cast<double>(cluster.counted);
      own_all += static_cast<double>(cluster.all);
      squares += square(static_cast<double>(cluster.all));
      ++clusters;
    }
    all += own_all;
    if (own_clusters < 2.0) return;
    const double p = own_counted / own_all;
    for (const Cluster& cluster : group)
      residuals += square(static_cast<double>(cluster.counted) - p * static_cast<double>(cluster.all));
    clustered += own_clusters / (own_clusters - 1.0) * residuals;
    independent += own_all * p * (1.0 - p);
  }
};

}  // namespace

Estimate wilson(std::size_t counted, std::size_t all, double level) {
  ensure(counted <= all, "no more is counted than there is");
  if (all == 0) return wilson_of_share(0.0, 0.0, level);
  const double n = static_cast<double>(all);
  return wilson_of_share(static_cast<double>(counted) / n, n, level);
}

Estimate wilson_of_share(double share, double effective_size, double level) {
  ensure(share >= 0.0 && share <= 1.0, "a share lies between 0 and 1");
  ensure(effective_size >= 0.0, "an effective size is not negative");
  const double z2 = square(normal_quantile_of_level(level));
  if (!(effective_size > 0.0)) return {std::nullopt, std::nullopt, "There is nothing to count."};
  const double n = effective_size;
  const double centre = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
  const double half = std::sqrt(z2 * share * (1.0 - share) / n + z2 * z2 / (4.0 * n * n)) / (1.0 + z2 / n);
  Interval interval{std::max(0.0, centre - half), std::min(1.0, centre + half)};
  // The ends at 0 and 1 are exact; rounding must not leave the share outside its own interval.
  interval.low = share == 0.0 ? 0.0 : std::min(interval.low, share);
  interval.high = share == 1.0 ? 1.0 : std::max(interval.high, share);
  return {share, interval, ""};
}

DesignEffect design_effect(std::span<const Cluster> clusters) {
  const std::vector<Cluster> whole(clusters.begin(), clusters.end());
  return pooled_design_effect({&whole, 1});
}

DesignEffect pooled_design_effect(std::span<const std::vector<Cluster>> groups) {
  DesignEffect effect;
  Pooled pooled;
  for (const std::vector<Cluster>& group : groups) pooled.add(group);
  effect.clusters = pooled.clusters;
  if (effect.clusters == 0) return effect;
  if (pooled.squares == pooled.all) {
    effect.method = DesignEffect::Method::independent;
  } else if (pooled.independent == 0.0) {
    effect.method = DesignEffect::Method::most_cautious;
    effect.value = pooled.squares / pooled.all;
  } else {
    const double estimated = pooled.clustered / pooled.independent;
    effect.method =
        estimated < 1.0 ? DesignEffect::Method::not_below_one : DesignEffect::Method::ratio_estimator;
    effect.value = std::max(1.0, estimated);
  }
  effect.effective_size = pooled.all / effect.value;
  return effect;
}

ClusteredShare clustered_share(std::span<const Cluster> clusters, double level) {
  ClusteredShare result;
  for (const Cluster& cluster : clusters) {
    result.counted += cluster.counted;
    result.all += cluster.all;
  }
  result.design = design_effect(clusters);
  const double share =
      result.all == 0 ? 0.0 : static_cast<double>(result.counted) / static_cast<double>(result.all);
  result.share = wilson_of_share(share, result.design.effective_size, level);
  return result;
}

Estimate difference_of_shares(const Estimate& first, const Estimate& second) {
  if (!first.value || !first.interval || !second.value || !second.interval)
    return {std::nullopt, std::nullopt, "One of the two shares has nothing to count."};
  const double d = *first.value - *second.value;
  return {d, squared_and_added(d, first, second, 0.0), ""};
}

Estimate difference_of_paired_shares(const PairedCounts& counts, double level) {
  const std::size_t all = counts.both + counts.first_only + counts.second_only + counts.neither;
  if (all == 0) return {std::nullopt, std::nullopt, "There is nothing to count."};
  const Estimate first = wilson(counts.both + counts.first_only, all, level);
  const Estimate second = wilson(counts.both + counts.second_only, all, level);
  const double d = *first.value - *second.value;
  return {d, squared_and_added(d, first, second, continuity_corrected_phi(counts)), ""};
}

Interval funnel_limits(double overall, std::size_t all, double level) {
  ensure(overall >= 0.0 && overall <= 1.0, "a share lies between 0 and 1");
  ensure(all > 0, "a funnel begins at a size of 1");
  const double upper = upper_probability(level);
  if (overall == 0.0 || overall == 1.0) return {overall, overall};
  return {binomial_limit(overall, all, 1.0 - upper), binomial_limit(overall, all, upper)};
}

}  // namespace canalrule::statistics
