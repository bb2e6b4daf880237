#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "gathered.hpp"

namespace canalrule::audit {

/// Places in Gathered::canals.
using Selection = std::vector<std::size_t>;

/// The canals that a share counts: each once.
Selection first_readings(const Gathered& gathered);

/// The share of one criterion (or, beyond the last, of all together) among the selected canals.
CriterionShare share_of(const Gathered& gathered, const Selection& selection, std::size_t criterion,
                        double level);

/// The share of one third of one of Gathered::thirds; `third` 0 apical, 1 middle, 2 coronal.
CriterionShare third_share_of(const Gathered& gathered, const Selection& selection, std::size_t split,
                              std::size_t third, double level);

/// All that is said of one group but what failed.
Group group_of(const Gathered& gathered, const Selection& selection, const std::string& name,
               const SummaryOptions& options);

/// The canals' clusters, each with how many of its canals there are and how many of them `counts` names.
std::vector<statistics::Cluster> clusters_of(const Gathered& gathered, const Selection& selection,
                                             const std::function<bool(const CanalNote&)>& is_in,
                                             const std::function<bool(const CanalNote&)>& counts);

/// Of assessable canals: within, and, for the highest, also what is too close to call.
enum class TooClose { is_outside, is_within };
std::vector<statistics::Cluster> clusters_within(const Gathered& gathered, const Selection& selection,
                                                 std::size_t criterion, TooClose too_close);

}  // namespace canalrule::audit
