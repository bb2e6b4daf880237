#include "shares.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <set>

namespace canalrule::audit {

namespace {

bool within(Verdict verdict, TooClose too_close) {
  return verdict == Verdict::within ||
         (too_close == TooClose::is_within && verdict == Verdict::too_close_to_call);
}

template <class VerdictOf>
CriterionShare counted(const Gathered& gathered, const Selection& selection, VerdictOf verdict_of,
                       double level) {
  CriterionShare share;
  for (const std::size_t place : selection) switch (verdict_of(gathered.canals[place])) {
      case Verdict::within:
        ++share.within;
        break;
      case Verdict::outside:
        ++share.outside;
        break;
      case Verdict::too_close_to_call:
        ++share.too_close_to_call;
        break;
      case Verdict::not_assessable:
        ++share.not_assessable;
        break;
    }
  const auto clustered = [&](TooClose too_close) {
    return statistics::clustered_share(
        clusters_of(
            gathered, selection,
            [&](const CanalNote& note) { return verdict_of(note) != Verdict::not_assessable; },
            [&](const CanalNote& note) { return within(verdict_of(note), too_close); }),
        level);
  };
  share.lowest = clustered(TooClose::is_outside);
  share.highest = share.too_close_to_call == 0 ? share.lowest : clustered(TooClose::is_within);
  return share;
}

/// Why a canal isn't assessable by a criterion; by all together, why by the first that it isn't by.
std::uint32_t reason_of(const CanalNote& note, std::size_t criterion) {
  if (criterion < note.reasons.size()) return note.reasons[criterion];
  const auto first = std::find(note.verdicts.begin(), note.verdicts.end(), Verdict::not_assessable);
  return note.reasons[static_cast<std::size_t>(first - note.verdicts.begin())];
}

}  // namespace

Selection first_readings(const Gathered& gathered) {
  Selection selection;
  for (std::size_t i = 0; i < gathered.canals.size(); ++i)
    if (gathered.canals[i].first) selection.push_back(i);
  return selection;
}

std::vector<statistics::Cluster> clusters_of(const Gathered& gathered, const Selection& selection,
                                             const std::function<bool(const CanalNote&)>& is_in,
                                             const std::function<bool(const CanalNote&)>& counts) {
  std::vector<statistics::Cluster> clusters;
  // Cluster numbers are small and dense: a table is far quicker than a map.
  constexpr std::uint32_t none = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> places(gathered.clusters.size(), none);
  for (const std::size_t place : selection) {
    const CanalNote& note = gathered.canals[place];
    if (!is_in(note)) continue;
    std::uint32_t& found = places[gathered.readings[note.reading].cluster];
    if (found == none) {
      found = static_cast<std::uint32_t>(clusters.size());
      clusters.emplace_back();
    }
    statistics::Cluster& cluster = clusters[found];
    ++cluster.all;
    cluster.counted += counts(note) ? 1 : 0;
  }
  return clusters;
}

std::vector<statistics::Cluster> clusters_within(const Gathered& gathered, const Selection& selection,
                                                 std::size_t criterion, TooClose too_close) {
  return clusters_of(
      gathered, selection,
      [&](const CanalNote& note) { return note.verdicts[criterion] != Verdict::not_assessable; },
      [&](const CanalNote& note) { return within(note.verdicts[criterion], too_close); });
}

CriterionShare share_of(const Gathered& gathered, const Selection& selection, std::size_t criterion,
                        double level) {
  CriterionShare share = counted(
      gathered, selection, [&](const CanalNote& note) { return note.verdicts[criterion]; }, level);
  std::map<std::string, ReasonCount> reasons;
  for (const std::size_t place : selection) {
    const CanalNote& note = gathered.canals[place];
    if (note.verdicts[criterion] != Verdict::not_assessable) continue;
    const Note& why = gathered.reasons[reason_of(note, criterion)];
    ++reasons.try_emplace(why.code, ReasonCount{why.code, why.text, 0}).first->second.count;
  }
  for (const auto& [code, reason] : reasons) share.not_assessable_for.push_back(reason);
  std::sort(share.not_assessable_for.begin(), share.not_assessable_for.end(),
            [](const ReasonCount& a, const ReasonCount& b) {
              return a.count != b.count ? a.count > b.count : a.reason < b.reason;
            });
  return share;
}

CriterionShare third_share_of(const Gathered& gathered, const Selection& selection, std::size_t split,
                              std::size_t third, double level) {
  return counted(
      gathered, selection,
      [&](const CanalNote& note) { return note.verdicts[gathered.criteria + 1 + 3 * split + third]; }, level);
}

Group group_of(const Gathered& gathered, const Selection& selection, const std::string& name,
               const SummaryOptions& options) {
  Group group;
  group.name = name;
  std::set<std::uint32_t> readings, clusters;
  for (const std::size_t place : selection) {
    const std::uint32_t reading = gathered.canals[place].reading;
    readings.insert(reading);
    clusters.insert(gathered.readings[reading].cluster);
  }
  group.cases = readings.size();
  group.clusters = clusters.size();
  group.enough = group.cases >= options.least_cases;
  const std::size_t criteria = gathered.criteria;
  for (std::size_t i = 0; i < criteria; ++i)
    group.criteria.push_back(share_of(gathered, selection, i, options.level));
  group.together = share_of(gathered, selection, criteria, options.level);
  return group;
}

}  // namespace canalrule::audit
