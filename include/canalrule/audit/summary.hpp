#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/audit/agreement.hpp>
#include <canalrule/audit/row.hpp>
#include <canalrule/statistics/distribution.hpp>
#include <canalrule/statistics/proportion.hpp>

/// What an audit says over all its rows: everything that its page, its summary.json and a comparison with an
/// earlier audit show. Shares are 0 to 1. Names of operators, readers and groups are those of the rows
/// (pseudonyms where the rows have them).
namespace canalrule {

/// What a person may choose; all of it stands in the summary.
struct SummaryOptions {
  double level = statistics::usual_level;
  /// Below so many cases no operator, reader or group is set against others. 10: chosen here, by what
  /// Wilson's interval of 10 of 10 still leaves open (0.72 to 1); tests/unit/audit holds it.
  std::size_t least_cases = 10;
  /// Further columns of the list to group by; empty: every one with 2 to `most_groups` different values.
  std::vector<std::string> group_by;
  std::size_t most_groups = 30;  ///< chosen here: what one table on a page still shows
};

/// How often something isn't there, by the reason that was given.
struct ReasonCount {
  std::string reason;  ///< the record's code, e.g. "overlap"
  std::string text;    ///< the first such sentence that was met
  std::size_t count = 0;
};

/// How many canals meet one criterion, or all together. Counted in canals, each film's canal once.
struct CriterionShare {
  std::size_t within = 0, outside = 0, too_close_to_call = 0, not_assessable = 0;
  std::vector<ReasonCount> not_assessable_for;  ///< most frequent first; the counts add up to not_assessable
  /// Of the assessable ones: those too close to call taken as outside, and taken as within. What is known of
  /// the share reaches from the one's lower end to the other's upper.
  statistics::ClusteredShare lowest, highest;

  std::size_t assessable() const { return within + outside + too_close_to_call; }
  std::size_t canals() const { return assessable() + not_assessable; }
};

struct Group {
  std::string name;                      ///< empty: the list doesn't say
  std::size_t cases = 0;                 ///< measured, each film and tooth once
  std::size_t failed = 0;                ///< cases that couldn't be measured at all
  std::size_t clusters = 0;              ///< patients, or films where no patient is named
  bool enough = false;                   ///< at least SummaryOptions::least_cases cases
  std::vector<CriterionShare> criteria;  ///< in the order of AuditHead::criteria.criteria
  CriterionShare together;               ///< all criteria of a canal
};

/// Two groups whose intervals (lowest's lower to highest's upper end) don't overlap, both with enough cases.
struct ClearDifference {
  std::string higher, lower;   ///< names of groups
  statistics::Estimate least;  ///< higher's lowest share minus lower's highest
};

struct Grouping {
  enum class By { tooth_group, operated_by, read_by, column };
  By by = By::column;
  std::string column;         ///< of the list, where `by` is column
  std::vector<Group> groups;  ///< by name, those without last; never by rank
  /// Of all criteria together; largest first, at most 20 (chosen here), the rest counted.
  std::vector<ClearDifference> clear_differences;
  std::size_t clear_differences_left_out = 0;
};

/// A column that isn't grouped by, and why.
struct ColumnLeftOut {
  std::string column;
  std::string reason;  ///< one sentence
};

/// One criterion on one third of each fill, where it makes sense: voids, and taper.
struct ThirdShares {
  std::string criterion;  ///< id of the criterion that it is made of
  std::string text;       ///< what was asked
  CriterionShare apical, middle, coronal;
};

/// One measured figure over all canals.
struct FigureSpread {
  std::string figure;  ///< its name in the record, with its unit, e.g. "terminus_to_apex_mm"
  std::string title;   ///< for a person: "End of the fill to the radiographic apex"
  std::string unit;    ///< "mm" or "mm per mm"
  statistics::Distribution values;
  statistics::Histogram histogram;
  std::size_t missing = 0;                          ///< canals without it
  std::optional<double> mean_standard_uncertainty;  ///< root of the mean square
  std::vector<Limit> limits;  ///< those of the criteria on this figure, lower ones first
};

/// Voids along the canal, mm from the radiographic apex.
struct VoidPlace {
  double from_mm = 0.0, to_mm = 0.0;
  std::size_t filled = 0;  ///< canals whose fill covers the middle of this stretch, with the voids there known
  std::size_t with_void = 0;  ///< of those, canals with a void that counts and touches this stretch
  statistics::ClusteredShare share;
};
struct VoidsAlong {
  VoidSelection
      selection;  ///< which count: the first criterion on voids, else score 5 and 0.3 mm (chosen here)
  std::string selected_by;        ///< id of that criterion; empty where it is the choice made here
  std::vector<VoidPlace> places;  ///< apex first
  std::size_t voids = 0;          ///< that count, in all
  std::size_t across = 0, inside = 0, along_wall = 0, at_backfill = 0;  ///< of those
  statistics::Distribution lengths_mm;
  std::size_t canals_unknown = 0;  ///< whose voids couldn't be assessed at all
};

/// One operator on the funnel (Spiegelhalter 2005) of all criteria together.
struct FunnelPoint {
  enum class Place {
    inside,  ///< no more than chance may have set it apart
    below,
    above,   ///< beyond the outer limits, whichever way what is too close to call falls
    too_few  ///< fewer than the stated number of cases: not placed
  };
  std::string name;
  std::size_t cases = 0, canals = 0;     ///< canals: assessable
  double lowest = 0.0, highest = 0.0;    ///< share within
  double effective_size = 0.0;           ///< canals over the design effect of all operators together
  statistics::Interval warning, action;  ///< limits at this size: 95 % and 99.8 %
  Place place = Place::too_few;
};
struct FunnelLine {
  std::size_t effective_size = 0;
  statistics::Interval warning, action;
};
struct Funnel {
  double overall_lowest = 0.0, overall_highest = 0.0;  ///< the centre lines
  double design_effect = 1.0;                          ///< within operators, by which the limits are widened
  std::vector<FunnelPoint> points;                     ///< by name
  std::vector<FunnelLine> lines;  ///< by size: low ends about overall_lowest, high ends about overall_highest
  std::string reason;             ///< why there is none; empty where there is one
};

/// What was counted, before any share.
struct Counts {
  std::size_t cases = 0, measured = 0, failed = 0;
  std::vector<ReasonCount> failed_for;  ///< by sentence, most frequent first, at most 20 (chosen here)
  std::size_t failed_for_left_out = 0;  ///< cases whose sentence isn't among those
  std::size_t films = 0;                ///< different ones
  std::size_t films_of_several_teeth = 0;  ///< read under more than one tooth: their canals count for each
  std::size_t read_again = 0;           ///< measured cases whose film and tooth had been read before
  std::size_t same_reading_again =
      0;                   ///< of those, with a reading that is the same to the last byte: passed over
  std::size_t canals = 0;  ///< each film's canal once: what every share is of
  std::size_t canals_read_again = 0;        ///< those go into the agreement only
  std::size_t canals_fully_assessable = 0;  ///< by every criterion
  std::size_t patients = 0;                 ///< named; 0 where the list names none
  std::size_t cases_without_patient = 0;
  std::vector<ReasonCount> warnings;  ///< of films, cases and canals, most frequent first
};

struct AuditSummary {
  AuditHead head;
  SummaryOptions options;
  Counts counts;
  Group overall;
  std::vector<Grouping>
      groupings;  ///< tooth group, operator, reader, then the list's columns; those that say something
  std::vector<ColumnLeftOut> columns_left_out;
  std::vector<ThirdShares> thirds;
  std::vector<FigureSpread> figures;
  VoidsAlong voids;
  Funnel funnel;
  Agreement agreement;
};

/// Reads the rows once and sums them up. Memory grows with the canals by about 700 bytes each. The same rows
/// give the same summary. A film's canal that stands in several readings counts once in every share, by the
/// first reading in the list's order, and once for each reader in the grouping by reader; the others go into
/// the agreement. Canals of one patient (of one film, where no patient is named) are one cluster.
AuditSummary summarise(const AuditHead& head, const RowSource& rows, const SummaryOptions& options = {});

/// The change of a share from an earlier audit to this one.
struct ShareChange {
  CriterionShare earlier, now;
  /// now minus earlier, what is too close to call falling as badly, and as well, for a rise as it can. What
  /// is known of the change reaches from the one's lower end to the other's upper.
  statistics::Estimate lowest, highest;
};

struct GroupChange {
  std::string name;
  bool enough = false;  ///< both audits have enough cases
  std::vector<ShareChange> criteria;
  ShareChange together;
};

struct Comparison {
  AuditHead earlier_head;  ///< as the earlier audit was written
  Counts earlier_counts;
  bool judged_anew = false;  ///< the earlier one had other criteria, and was judged anew by these
  std::string caution;       ///< what else differs (program version); empty where nothing does
  GroupChange overall;
  std::vector<GroupChange> tooth_groups;  ///< those in both
};

/// An earlier audit beside this one. The same rule is applied to both: where the earlier one was judged by
/// other criteria, its figures are judged anew by these. The shares are taken as independent; where the
/// audits share patients, the intervals are wider than they need be.
Comparison compare(const AuditSummary& now, const AuditHead& earlier_head, const RowSource& earlier_rows);

/// summary.json, `canalrule.summary/1` (docs/summary.schema.json). `against` stands in it where it is given.
std::string write_summary(const AuditSummary& summary,
                          const std::optional<Comparison>& against = std::nullopt);

}  // namespace canalrule
