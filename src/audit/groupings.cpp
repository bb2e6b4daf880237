#include "groupings.hpp"

#include <algorithm>
#include <functional>
#include <map>
#include <string>
#include <utility>

#include <canalrule/base/fault.hpp>

#include "shares.hpp"
#include "tooth_groups.hpp"

namespace canalrule::audit {

namespace {

constexpr std::size_t most_differences = 20;  // see Grouping

/// What tells the groups apart: the order in which they are listed, and the name. Nameless ones stand last.
struct GroupKey {
  bool nameless = false;
  std::size_t order = 0;
  std::string name;
  friend auto operator<=>(const GroupKey&, const GroupKey&) = default;
};

using KeyOf = std::function<GroupKey(const Belonging&)>;

GroupKey by_name(const std::string& name) { return {name.empty(), 0, name}; }

GroupKey by_tooth(const Belonging& belongs) {
  const std::string name(tooth_groups[belongs.tooth_group]);
  return {name.empty(), belongs.tooth_group, name};
}

statistics::Interval known(const CriterionShare& share) {
  return {share.lowest.share.interval->low, share.highest.share.interval->high};
}

void put_clear_differences(Grouping& grouping) {
  std::vector<const Group*> comparable;
  for (const Group& group : grouping.groups)
    if (group.enough && !group.name.empty() && group.together.assessable() > 0) comparable.push_back(&group);
  std::vector<ClearDifference> found;
  for (const Group* higher : comparable)
    for (const Group* lower : comparable)
      if (known(higher->together).low > known(lower->together).high)
        found.push_back(
            {higher->name, lower->name,
             statistics::difference_of_shares(higher->together.lowest.share, lower->together.highest.share)});
  std::stable_sort(found.begin(), found.end(), [](const ClearDifference& a, const ClearDifference& b) {
    return *a.least.value > *b.least.value;
  });
  if (found.size() > most_differences) {
    grouping.clear_differences_left_out = found.size() - most_differences;
    found.resize(most_differences);
  }
  grouping.clear_differences = std::move(found);
}

/// Each film's canal once in all; by reader, once for each reader.
Grouping grouped(const Gathered& gathered, Grouping::By by, const KeyOf& key_of,
                 const SummaryOptions& options) {
  std::map<GroupKey, Selection> selections;
  std::map<GroupKey, std::size_t> failed;
  for (std::size_t i = 0; i < gathered.canals.size(); ++i) {
    const CanalNote& note = gathered.canals[i];
    if (by == Grouping::By::read_by ? note.first_of_reader : note.first)
      selections[key_of(gathered.readings[note.reading].belongs)].push_back(i);
  }
  for (const Belonging& belongs : gathered.failed) {
    const GroupKey key = key_of(belongs);
    ++failed[key];
    selections.try_emplace(key);
  }
  Grouping grouping;
  grouping.by = by;
  for (const auto& [key, selection] : selections) {
    grouping.groups.push_back(group_of(gathered, selection, key.name, options));
    const auto found = failed.find(key);
    if (found != failed.end()) grouping.groups.back().failed = found->second;
  }
  put_clear_differences(grouping);
  return grouping;
}

bool asked_for(const std::string& column, const SummaryOptions& options) {
  return options.group_by.empty() ||
         std::find(options.group_by.begin(), options.group_by.end(), column) != options.group_by.end();
}

}  // namespace

Grouped groupings_of(const Gathered& gathered, const AuditHead& head, const SummaryOptions& options) {
  Grouped result;
  const auto keep = [&](Grouping grouping) {
    if (grouping.groups.size() >= 2) result.groupings.push_back(std::move(grouping));
  };
  keep(grouped(gathered, Grouping::By::tooth_group, by_tooth, options));
  keep(grouped(
      gathered, Grouping::By::operated_by,
      [&](const Belonging& belongs) { return by_name(gathered.people[belongs.operated_by]); }, options));
  keep(grouped(
      gathered, Grouping::By::read_by,
      [&](const Belonging& belongs) { return by_name(gathered.people[belongs.read_by]); }, options));
  for (const std::string& column : options.group_by)
    ensure(std::find(head.columns.begin(), head.columns.end(), column) != head.columns.end(),
           "a column to group by is one of the list's");
  for (std::size_t c = 0; c < head.columns.size(); ++c) {
    const std::string& column = head.columns[c];
    const std::size_t different = gathered.values[c].size();
    if (!asked_for(column, options)) {
      result.columns_left_out.push_back({column, "It was not asked for."});
    } else if (different < 2) {
      result.columns_left_out.push_back({column, "All cases have the same value."});
    } else if (different > options.most_groups && options.group_by.empty()) {
      result.columns_left_out.push_back(
          {column, "It has " + std::to_string(different) + " different values."});
    } else {
      Grouping grouping = grouped(
          gathered, Grouping::By::column,
          [&, c](const Belonging& belongs) { return by_name(gathered.values[c][belongs.values[c]]); },
          options);
      grouping.column = column;
      keep(std::move(grouping));
    }
  }
  return result;
}

}  // namespace canalrule::audit
