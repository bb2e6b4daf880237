#include "gathered.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include <canalrule/base/fault.hpp>
#include <canalrule/judge/conformity.hpp>
#include <canalrule/judge/judge.hpp>

#include "figures.hpp"
#include "tooth_groups.hpp"

namespace canalrule::audit {

namespace {

using In = CriterionFigure;

constexpr std::size_t most_reasons = 20;  // see Counts

/// Voids that no criterion selects: a score of 5 and a length of 0.3 mm, as the criteria that the program
/// brings.
constexpr VoidSelection otherwise_selected{5.0, 0.3, 0.0, std::nullopt};

std::vector<ThirdCriteria> thirds_of(const Criteria& criteria) {
  std::vector<ThirdCriteria> thirds;
  for (std::size_t i = 0; i < criteria.criteria.size(); ++i) {
    const Criterion& whole = criteria.criteria[i];
    ThirdCriteria split{i, whole, whole, whole};
    if (on_voids(whole.figure) && !whole.voids.third) {
      split.apical.voids.third = Third::apical;
      split.middle.voids.third = Third::middle;
      split.coronal.voids.third = Third::coronal;
    } else if (whole.figure == In::taper_overall) {
      split.apical.figure = In::taper_apical;
      split.middle.figure = In::taper_middle;
      split.coronal.figure = In::taper_coronal;
    } else {
      continue;
    }
    thirds.push_back(split);
  }
  return thirds;
}

/// Films by their content and the tooth that was read on them: one film may show several. A reading that names no tooth
/// is of the film's only one.
class FilmsAndTeeth {
 public:
  struct Found {
    std::uint32_t number = 0;
    bool read_before = false;
  };

  Found find(const std::string& film_sha256, const std::string& tooth) {
    std::vector<Seen>& teeth = films_[film_sha256];
    const auto same = std::find_if(teeth.begin(), teeth.end(), [&](const Seen& one) { return one.tooth == tooth; });
    if (same != teeth.end()) return {same->number, true};
    if (teeth.size() == 1 && (tooth.empty() || teeth.front().tooth.empty())) {
      if (teeth.front().tooth.empty()) teeth.front().tooth = tooth;
      return {teeth.front().number, true};
    }
    teeth.push_back({tooth, next_++});
    return {teeth.back().number, false};
  }
  std::size_t films() const { return films_.size(); }
  std::size_t of_several_teeth() const {
    return static_cast<std::size_t>(
        std::count_if(films_.begin(), films_.end(), [](const auto& film) { return film.second.size() > 1; }));
  }

 private:
  struct Seen {
    std::string tooth;
    std::uint32_t number = 0;
  };
  std::unordered_map<std::string, std::vector<Seen>> films_;
  std::uint32_t next_ = 0;
};

Note why_not(const CanalResult& canal, const Criterion& criterion, const std::string& otherwise) {
  if (std::optional<Note> nothing = nothing_to_judge(canal)) return *nothing;
  return why_missing(canal, criterion.figure).value_or(Note{"not-measured", otherwise});
}

/// Counts sentences or codes, each with the first text that came with it.
class ReasonTally {
 public:
  void add(const std::string& reason, const std::string& text) {
    ReasonCount& entry = entries_.try_emplace(reason, ReasonCount{reason, text, 0}).first->second;
    ++entry.count;
  }
  std::vector<ReasonCount> most_frequent_first() const {
    std::vector<ReasonCount> sorted;
    for (const auto& [reason, entry] : entries_) sorted.push_back(entry);
    std::stable_sort(sorted.begin(), sorted.end(),
                     [](const ReasonCount& a, const ReasonCount& b) { return a.count > b.count; });
    return sorted;
  }

 private:
  std::map<std::string, ReasonCount> entries_;
};

class Gathering {
 public:
  explicit Gathering(const AuditHead& head) : criteria_(head.criteria) {
    gathered_.criteria = criteria_.criteria.size();
    gathered_.thirds = thirds_of(criteria_);
    gathered_.values.resize(head.columns.size());
    gathered_.people.number_of("");
    third_criteria_ = criteria_;
    third_criteria_.criteria.clear();
    for (const ThirdCriteria& split : gathered_.thirds)
      for (const Criterion* third : {&split.apical, &split.middle, &split.coronal})
        third_criteria_.criteria.push_back(*third);
    gathered_.selection = otherwise_selected;
    const auto first = std::find_if(criteria_.criteria.begin(), criteria_.criteria.end(),
                                    [](const Criterion& one) { return on_voids(one.figure); });
    if (first == criteria_.criteria.end()) return;
    gathered_.selection = first->voids;
    gathered_.selection.third.reset();
    gathered_.selected_by = first->id;
  }

  void add(const CaseRow& row) {
    Counts& counts = gathered_.counts;
    ++counts.cases;
    if (row.status == CaseStatus::failed) {
      ++counts.failed;
      failures_.add(row.reason, row.reason);
      gathered_.failed.push_back(belonging_of(row));
      return;
    }
    ++counts.measured;
    if (row.patient.empty())
      ++counts.cases_without_patient;
    else
      patients_.number_of(row.patient);
    const FilmsAndTeeth::Found film = films_.find(row.film_sha256, row.tooth);
    if (film.read_before) ++counts.read_again;
    if (!readings_.insert(row.reading_sha256 + '\n' + row.film_sha256).second) {
      ++counts.same_reading_again;
      return;
    }
    for (const Note& warning : row.warnings) warnings_.add(warning.code, warning.text);
    const std::string cluster = row.patient.empty() ? "film " + row.film_sha256 : "patient " + row.patient;
    gathered_.readings.push_back({belonging_of(row), film.number, gathered_.clusters.number_of(cluster)});
    for (const CanalRow& canal : row.canals) add_canal(canal);
  }

  Gathered finished() {
    Counts& counts = gathered_.counts;
    counts.films = films_.films();
    counts.films_of_several_teeth = films_.of_several_teeth();
    counts.patients = patients_.size();
    counts.warnings = warnings_.most_frequent_first();
    counts.failed_for = failures_.most_frequent_first();
    if (counts.failed_for.size() > most_reasons) counts.failed_for.resize(most_reasons);
    counts.failed_for_left_out = counts.failed;
    for (const ReasonCount& reason : counts.failed_for) counts.failed_for_left_out -= reason.count;
    return std::move(gathered_);
  }

 private:
  Belonging belonging_of(const CaseRow& row) {
    Belonging belongs{gathered_.people.number_of(row.operated_by),
                      gathered_.people.number_of(row.read_by),
                      tooth_group_of(row.tooth),
                      {}};
    ensure(row.values.size() == gathered_.values.size(), "a row has a value for every column");
    for (std::size_t i = 0; i < row.values.size(); ++i)
      belongs.values.push_back(gathered_.values[i].number_of(row.values[i]));
    return belongs;
  }

  static std::uint64_t both(std::uint32_t first, std::uint32_t second) {
    return std::uint64_t{first} << 32U | second;
  }

  /// Of the reading that was added last.
  void add_canal(const CanalRow& canal) {
    CanalNote note;
    note.reading = static_cast<std::uint32_t>(gathered_.readings.size() - 1);
    const ReadingNote& reading = gathered_.readings.back();
    const auto [known, fresh] =
        canals_.try_emplace(both(reading.film, canal_names_.number_of(canal.figures.name)),
                            static_cast<std::uint32_t>(canals_.size()));
    note.canal = known->second;
    note.first = fresh;
    note.first_of_reader = canals_of_readers_.insert(both(note.canal, reading.belongs.read_by)).second;
    put_verdicts(note, canal);
    for (const Note& warning : canal.figures.warnings) warnings_.add(warning.code, warning.text);
    count_canal(note);
    // Figures of what is no filling, or of wrong marks, are none of a filling's.
    if (!nothing_to_judge(canal.figures)) put_figures(note, canal);
    gathered_.canals.push_back(std::move(note));
  }

  void put_figures(CanalNote& note, const CanalRow& canal) const {
    for (std::size_t i = 0; i < figure_count; ++i) note.figures[i] = figures()[i].of(canal.figures);
    if (canal.figures.coronal_level_mm) note.coronal_level_mm = canal.figures.coronal_level_mm->value;
    if (canal.figures.voids) note.voids = counting(*canal.figures.voids);
    for (const NotAssessable& entry : canal.figures.not_assessable)
      if (entry.figure == "voids" && entry.from_mm && entry.to_mm)
        note.voids_unseen.emplace_back(*entry.from_mm, *entry.to_mm);
  }

  void put_verdicts(CanalNote& note, const CanalRow& canal) {
    ensure(canal.verdicts.size() == criteria_.criteria.size(), "a canal has a verdict for every criterion");
    const auto unknown = [](const CriterionVerdict& judged) {
      return judged.verdict == Verdict::not_assessable;
    };
    if (std::any_of(canal.verdicts.begin(), canal.verdicts.end(), unknown))
      note.reasons.resize(criteria_.criteria.size());
    for (std::size_t i = 0; i < canal.verdicts.size(); ++i) {
      const CriterionVerdict& judged = canal.verdicts[i];
      note.verdicts.push_back(judged.verdict);
      if (!unknown(judged)) continue;
      const Note why = why_not(canal.figures, criteria_.criteria[i], judged.reason);
      note.reasons[i] = reasons_.number_of(std::to_string(i) + ' ' + why.code);
      if (gathered_.reasons.size() < reasons_.size()) gathered_.reasons.push_back(why);
    }
    note.verdicts.push_back(canal.together);
    if (third_criteria_.criteria.empty()) return;
    Result alone;
    alone.canals.push_back(canal.figures);
    for (const Judgement& judged : judge(alone, third_criteria_).judgements)
      note.verdicts.push_back(judged.verdict);
  }

  std::vector<VoidNote> counting(const std::vector<Void>& voids) const {
    std::vector<VoidNote> notes;
    for (const Void& found : voids)
      if (counts(found, gathered_.selection))
        notes.push_back({found.from_mm, found.to_mm, found.length_mm.value, found.kind, found.at_backfill});
    return notes;
  }

  void count_canal(const CanalNote& note) {
    Counts& counts = gathered_.counts;
    if (!note.first) {
      ++counts.canals_read_again;
      return;
    }
    ++counts.canals;
    if (note.reasons.empty()) ++counts.canals_fully_assessable;
  }

  const Criteria& criteria_;
  Criteria third_criteria_;
  Gathered gathered_;
  Names patients_, canal_names_, reasons_;
  FilmsAndTeeth films_;
  std::unordered_set<std::string> readings_;
  std::unordered_map<std::uint64_t, std::uint32_t> canals_;  ///< by film and canal's name
  std::unordered_set<std::uint64_t> canals_of_readers_;      ///< canal and reader
  ReasonTally failures_, warnings_;
};

}  // namespace

Gathered gather(const AuditHead& head, const RowSource& rows) {
  Gathering gathering(head);
  rows([&](const CaseRow& row) { gathering.add(row); });
  return gathering.finished();
}

}  // namespace canalrule::audit
