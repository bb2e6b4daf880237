#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include <canalrule/statistics/estimate.hpp>

namespace canalrule::statistics {

/// Wilson's score interval (Wilson, J Am Stat Assoc 1927;22:209-212; Newcombe, Stat Med 1998;17:857-872,
/// method 3) for `counted` of `all`. Without value where `all` is 0. It lies within [0, 1], touches 0 only
/// for a count of 0 and 1 only for a count of all, and holds the share.
Estimate wilson(std::size_t counted, std::size_t all, double level = usual_level);

/// The same for a share of an effective sample size, which need not be a whole number (Rao and Scott,
/// Biometrics 1992;48:577-585). share 0 to 1; without value where `effective_size` is 0.
Estimate wilson_of_share(double share, double effective_size, double level = usual_level);

/// What belongs together and so isn't independent: the canals of one patient, say.
struct Cluster {
  std::size_t counted = 0;
  std::size_t all = 0;
};

/// By how much clustering widens what is known of a share.
struct DesignEffect {
  enum class Method {
    none,             ///< nothing was counted
    independent,      ///< no cluster holds more than one
    ratio_estimator,  ///< estimated, and 1 or more
    not_below_one,    ///< estimated below 1, and 1 taken: independence is the least that is granted
    most_cautious     ///< can't be estimated (one cluster, or all alike): what clusters of equals would give
  };
  Method method = Method::none;
  double value = 1.0;           ///< variance of the share over that of independent ones
  double effective_size = 0.0;  ///< all / value
  std::size_t clusters = 0;     ///< that hold at least one
};

/// The design effect of the share in m clusters of n(i), x(i) of them counted, by the ratio estimator
/// (Cochran, Sampling Techniques 1977, 6.3 and 11; Rao and Scott 1992): with p = sum x / sum n,
///   v = m / (m - 1) * sum (x(i) - p n(i))^2 / (sum n)^2,   value = v / (p (1 - p) / sum n).
/// Where it can't be estimated, value = sum n(i)^2 / sum n: every cluster as one piece (Kish, Survey Sampling
/// 1965, 5.4, with an intracluster correlation of 1). Empty clusters are passed over.
DesignEffect design_effect(std::span<const Cluster> clusters);

/// The design effect within groups whose shares differ, so that their differing isn't taken for clustering:
/// with v(g), p(g) and n(g) those of group g, value = sum n(g)^2 v(g) / sum n(g) p(g) (1 - p(g)), the groups'
/// own effects pooled by n p (1 - p) (after Rao and Scott 1992, 3). Where no group gives one, as above.
DesignEffect pooled_design_effect(std::span<const std::vector<Cluster>> groups);

/// A share of clusters, with Wilson's interval by the effective sample size.
struct ClusteredShare {
  std::size_t counted = 0;
  std::size_t all = 0;
  Estimate share;
  DesignEffect design;
};
ClusteredShare clustered_share(std::span<const Cluster> clusters, double level = usual_level);

/// Newcombe's hybrid score interval for the difference first - second of two independent shares (Newcombe,
/// Stat Med 1998;17:873-890, method 10), from the shares' own Wilson intervals, so that a design effect is
/// carried through; both of the same level. Without value where one of them has none.
///   low = d - sqrt((p1 - l1)^2 + (u2 - p2)^2),  high = d + sqrt((u1 - p1)^2 + (p2 - l2)^2)
Estimate difference_of_shares(const Estimate& first, const Estimate& second);

/// Each thing looked at twice: how often both counted, only the first, only the second, neither.
struct PairedCounts {
  std::size_t both = 0;
  std::size_t first_only = 0;
  std::size_t second_only = 0;
  std::size_t neither = 0;
};

/// The difference first - second of two shares of the same things (Newcombe, Stat Med 1998;17:2635-2650,
/// method 10: square-and-add with the correlation phi, continuity-corrected where positive).
Estimate difference_of_paired_shares(const PairedCounts& counts, double level = usual_level);

/// Limits between which a share of `all` lies with probability `level` where the overall share is `overall`,
/// for a funnel plot (Spiegelhalter, Stat Med 2005;24:1185-1202, A.1.1): exact binomial, interpolated between
/// whole counts, cut to [0, 1]. overall 0 to 1; `all` at least 1.
Interval funnel_limits(double overall, std::size_t all, double level);

}  // namespace canalrule::statistics
