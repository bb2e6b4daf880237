#include "readings_agree.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <utility>

#include <canalrule/base/fault.hpp>

#include "figures.hpp"

namespace canalrule::audit {

namespace {

using Kind = PairAgreement::Kind;
using statistics::KappaWeights;

constexpr std::size_t most_pairs = 12;    // see Agreement
constexpr std::size_t most_readers = 60;  // see Agreement
constexpr std::size_t most_points = 500;  // see FigureAgreement

/// The readings of one canal by one reader, in the list's order: places in Gathered::canals.
using ByReader = std::map<std::string, std::vector<std::size_t>>;

/// Canals that more than one reading shows.
std::map<std::uint32_t, ByReader> canals_read_again(const Gathered& gathered) {
  std::map<std::uint32_t, ByReader> canals;
  std::map<std::uint32_t, std::size_t> times;
  for (const CanalNote& note : gathered.canals) ++times[note.canal];
  for (std::size_t i = 0; i < gathered.canals.size(); ++i) {
    const CanalNote& note = gathered.canals[i];
    if (times.at(note.canal) < 2) continue;
    canals[note.canal][gathered.people[gathered.readings[note.reading].belongs.read_by]].push_back(i);
  }
  return canals;
}

struct PairKey {
  Kind kind;
  std::string first, second;
  friend auto operator<=>(const PairKey&, const PairKey&) = default;
};

/// Two readings of the same canal.
struct Twice {
  const CanalNote* first;
  const CanalNote* second;
};

/// How many of these canals each named reader read.
std::map<std::string, std::size_t> canals_by_reader(const std::map<std::uint32_t, ByReader>& canals) {
  std::map<std::string, std::size_t> read;
  for (const auto& [canal, readers] : canals)
    for (const auto& [name, places] : readers)
      if (!name.empty()) ++read[name];
  return read;
}

/// The readers who read most of these canals, at most `most_readers`; of those who read as many, by name.
std::set<std::string> who_read_most(const std::map<std::string, std::size_t>& read) {
  std::vector<std::pair<std::string, std::size_t>> most_first(read.begin(), read.end());
  std::stable_sort(most_first.begin(), most_first.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  most_first.resize(std::min(most_first.size(), most_readers));
  std::set<std::string> names;
  for (const auto& [name, count] : most_first) names.insert(name);
  return names;
}

std::map<PairKey, std::vector<Twice>> pairs_of(const Gathered& gathered,
                                               const std::map<std::uint32_t, ByReader>& canals,
                                               const std::set<std::string>& compared) {
  std::map<PairKey, std::vector<Twice>> pairs;
  for (const auto& [canal, readers] : canals)
    for (auto one = readers.begin(); one != readers.end(); ++one) {
      const auto& [name, places] = *one;
      if (places.size() >= 2)
        pairs[{name.empty() ? Kind::reader_unnamed : Kind::within_reader, name, name}].push_back(
            {&gathered.canals[places[0]], &gathered.canals[places[1]]});
      if (!compared.contains(name)) continue;
      for (auto other = std::next(one); other != readers.end(); ++other)
        if (compared.contains(other->first)) pairs[{Kind::between_readers, name, other->first}].push_back(
            {&gathered.canals[places.front()], &gathered.canals[other->second.front()]});
    }
  return pairs;
}

std::vector<statistics::Pair> thinned(const std::vector<statistics::Pair>& pairs) {
  if (pairs.size() <= most_points) return pairs;
  std::vector<statistics::Pair> kept;
  for (std::size_t i = 0; i < most_points; ++i) kept.push_back(pairs[i * pairs.size() / most_points]);
  return kept;
}

std::vector<FigureAgreement> figures_agree(const std::vector<Twice>& readings, double level) {
  std::vector<FigureAgreement> agreements;
  for (std::size_t i = 0; i < figures().size(); ++i) {
    const Figure& figure = figures()[i];
    std::vector<statistics::Pair> pairs;
    statistics::Ratings ratings;
    for (const Twice& twice : readings) {
      const auto& first = twice.first->figures[i];
      const auto& second = twice.second->figures[i];
      if (!first || !second) continue;
      pairs.push_back({first->value, second->value});
      ratings.push_back({first->value, second->value});
    }
    if (pairs.empty()) continue;
    agreements.push_back({std::string(figure.name), std::string(figure.title), std::string(figure.unit),
                          readings.size() - pairs.size(), statistics::bland_altman(pairs, level),
                          statistics::dahlberg_error(pairs, level),
                          statistics::intraclass_correlation(ratings, level), thinned(pairs)});
  }
  return agreements;
}

/// Outside, too close to call, within: in this order they are categories of one scale.
std::size_t category_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::outside:
      return 0;
    case Verdict::too_close_to_call:
      return 1;
    case Verdict::within:
      return 2;
    case Verdict::not_assessable:
      break;
  }
  fault("what isn't assessable has no place on the scale");
}

VerdictAgreement verdicts_agree(const std::vector<Twice>& readings, std::size_t criterion,
                                const AuditHead& head, double level) {
  VerdictAgreement agreement;
  if (criterion < head.criteria.criteria.size()) {
    agreement.criterion = head.criteria.criteria[criterion].id;
    agreement.text = head.criteria.criteria[criterion].text;
  }
  std::vector<std::pair<std::size_t, std::size_t>> categories;
  for (const Twice& twice : readings) {
    const Verdict first = twice.first->verdicts[criterion];
    const Verdict second = twice.second->verdicts[criterion];
    const bool first_missing = first == Verdict::not_assessable;
    const bool second_missing = second == Verdict::not_assessable;
    if (first_missing || second_missing) {
      ++(first_missing && second_missing ? agreement.not_assessable_twice : agreement.not_assessable_once);
      continue;
    }
    categories.emplace_back(category_of(first), category_of(second));
    const bool first_within = first == Verdict::within;
    const bool second_within = second == Verdict::within;
    statistics::PairedCounts& within = agreement.within;
    ++(first_within ? (second_within ? within.both : within.first_only)
                    : (second_within ? within.second_only : within.neither));
  }
  agreement.table = statistics::category_table(categories, 3);
  agreement.simple = statistics::cohen_kappa(agreement.table, KappaWeights::none, level);
  agreement.linear = statistics::cohen_kappa(agreement.table, KappaWeights::linear, level);
  agreement.quadratic = statistics::cohen_kappa(agreement.table, KappaWeights::quadratic, level);
  agreement.within_difference = statistics::difference_of_paired_shares(agreement.within, level);
  return agreement;
}

PairAgreement pair_agrees(const Gathered& gathered, const PairKey& key, const std::vector<Twice>& readings,
                          const AuditHead& head, double level) {
  PairAgreement agreement;
  agreement.kind = key.kind;
  agreement.first = key.first;
  agreement.second = key.second;
  std::set<std::uint32_t> films;
  for (const Twice& twice : readings) films.insert(gathered.readings[twice.first->reading].film);
  agreement.films = films.size();
  agreement.canals = readings.size();
  agreement.figures = figures_agree(readings, level);
  for (std::size_t i = 0; i <= head.criteria.criteria.size(); ++i)
    agreement.verdicts.push_back(verdicts_agree(readings, i, head, level));
  return agreement;
}

/// The largest set of readers that is left when the one who read least is dropped until at least two canals
/// were read by all; empty where fewer than three are left.
std::vector<std::string> joint_readers(const std::map<std::uint32_t, ByReader>& canals) {
  std::map<std::string, std::size_t> read = canals_by_reader(canals);
  while (read.size() >= 3) {
    const auto common = std::count_if(canals.begin(), canals.end(), [&](const auto& canal) {
      return std::all_of(read.begin(), read.end(),
                         [&](const auto& one) { return canal.second.contains(one.first); });
    });
    if (common >= 2) break;
    read.erase(std::min_element(read.begin(), read.end(),
                                [](const auto& a, const auto& b) { return a.second < b.second; }));
  }
  std::vector<std::string> readers;
  if (read.size() >= 3)
    for (const auto& [name, count] : read) readers.push_back(name);
  return readers;
}

JointAgreement all_agree(const Gathered& gathered, const std::map<std::uint32_t, ByReader>& canals,
                         double level) {
  JointAgreement joint;
  joint.readers = joint_readers(canals);
  if (joint.readers.empty()) {
    joint.reason = "Fewer than three readers read the same two canals.";
    return joint;
  }
  std::vector<std::vector<const CanalNote*>> common;
  for (const auto& [canal, readers] : canals) {
    std::vector<const CanalNote*> notes;
    for (const std::string& name : joint.readers) {
      const auto found = readers.find(name);
      if (found != readers.end()) notes.push_back(&gathered.canals[found->second.front()]);
    }
    if (notes.size() == joint.readers.size()) common.push_back(std::move(notes));
  }
  joint.canals = common.size();
  for (std::size_t i = 0; i < figures().size(); ++i) {
    statistics::Ratings ratings;
    for (const auto& notes : common) {
      std::vector<double> values;
      for (const CanalNote* note : notes)
        if (note->figures[i]) values.push_back(note->figures[i]->value);
      if (values.size() == notes.size()) ratings.push_back(std::move(values));
    }
    if (ratings.empty()) continue;
    const Figure& figure = figures()[i];
    joint.figures.push_back({std::string(figure.name), std::string(figure.title), std::string(figure.unit),
                             common.size() - ratings.size(),
                             statistics::intraclass_correlation(ratings, level)});
  }
  return joint;
}

std::vector<SpreadSplit> spread_of(const Gathered& gathered,
                                   const std::map<std::uint32_t, ByReader>& canals) {
  std::vector<SpreadSplit> splits;
  for (std::size_t i = 0; i < figures().size(); ++i) {
    std::vector<statistics::Observation> observations;
    bool unnamed = false;
    for (const auto& [canal, readers] : canals) {
      std::size_t rater = 0;
      for (const auto& [name, places] : readers) {
        if (name.empty()) {  // they may be several persons
          unnamed = true;
          continue;
        }
        for (const std::size_t place : places)
          if (const auto& found = gathered.canals[place].figures[i])
            observations.push_back({canal, rater, found->value, found->standard_uncertainty});
        ++rater;
      }
    }
    statistics::VarianceSplit split = statistics::variance_split(observations);
    if (unnamed)
      split.reason += (split.reason.empty() ? "" : " ") + std::string("Readings without a reader are left out.");
    if (split.subjects == 0) continue;
    const Figure& figure = figures()[i];
    splits.push_back({std::string(figure.name), std::string(figure.title), std::string(figure.unit), split});
  }
  return splits;
}

}  // namespace

Agreement agreement_of(const Gathered& gathered, const AuditHead& head, double level) {
  Agreement agreement;
  const std::map<std::uint32_t, ByReader> canals = canals_read_again(gathered);
  std::set<std::uint32_t> films;
  for (const auto& [canal, readers] : canals)
    films.insert(gathered.readings[gathered.canals[readers.begin()->second.front()].reading].film);
  agreement.films_read_again = films.size();
  agreement.canals_read_again = canals.size();
  if (canals.empty()) {
    agreement.reason = agreement.joint.reason = "No film was read more than once.";
    return agreement;
  }
  const std::map<std::string, std::size_t> read = canals_by_reader(canals);
  const std::set<std::string> compared = who_read_most(read);
  agreement.readers_left_out = read.size() - compared.size();
  const std::map<PairKey, std::vector<Twice>> pairs = pairs_of(gathered, canals, compared);
  std::vector<const std::pair<const PairKey, std::vector<Twice>>*> most_first;
  for (const auto& pair : pairs) most_first.push_back(&pair);
  std::stable_sort(most_first.begin(), most_first.end(),
                   [](const auto* a, const auto* b) { return a->second.size() > b->second.size(); });
  if (most_first.size() > most_pairs) {
    agreement.pairs_left_out = most_first.size() - most_pairs;
    most_first.resize(most_pairs);
  }
  for (const auto* pair : most_first)
    agreement.pairs.push_back(pair_agrees(gathered, pair->first, pair->second, head, level));
  agreement.joint = all_agree(gathered, canals, level);
  agreement.spread = spread_of(gathered, canals);
  return agreement;
}

}  // namespace canalrule::audit
