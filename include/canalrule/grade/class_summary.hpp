#pragma once

#include <canalrule/record/marks.hpp>
#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/distribution.hpp>
#include <canalrule/statistics/kappa.hpp>
#include <optional>
#include <string>
#include <vector>

/// What a class shows together. Marks in, numbers out; the same cases give the same summary in the same
/// order.
namespace canalrule {

/// The values that one criterion looks at, over all canals, in the list's order.
struct ClassSpread {
  RubricFigure figure = CriterionFigure::terminus_to_apex_mm;
  std::string criterion;  ///< of the rubric, that looks at it
  std::vector<double> values;
  statistics::Distribution spread;
  std::size_t without = 0;  ///< canals without the figure: nothing found, or not assessable
};

/// How a criterion came out over the class.
struct CriterionOutcome {
  std::string id;
  std::size_t sure = 0, too_close_to_call = 0, not_assessable = 0;  ///< canals
  std::vector<std::size_t> per_band;                                ///< canals whose figure lies in each band
  std::optional<double> mean_points;  ///< over the cases that have points for it
};

/// One fault at one place.
struct FaultCount {
  Fault fault = Fault::ends_short;
  std::string title;
  std::optional<Third> third;  ///< none: at the apex, over the whole fill, or the film
  std::size_t canals = 0;
  std::size_t students = 0;
};

struct Session {
  std::string date;  ///< ISO 8601
  std::vector<double> percents;
  statistics::Distribution spread;
  std::size_t passed = 0;
};

/// A student's own readings, fewer of which say nothing of the student. Chosen here; tests/unit/grade/test_class.cpp.
inline constexpr std::size_t least_own_readings = 3;

/// How a student sees the own work beside the teacher's reading.
enum class SelfView { over_rates, under_rates, as_the_teacher };

struct StudentSummary {
  struct Point {
    std::string date;
    double percent = 0.0;  ///< mean of that day
  };
  std::string student;
  std::size_t cases = 0, marked = 0, passed = 0;
  std::optional<double> mean_percent;  ///< of the marked cases
  std::vector<Point> progress;         ///< by date, where dates stand
  std::size_t own_readings = 0;
  std::size_t own_higher = 0, own_lower = 0;     ///< beyond what either mark's uncertainty leaves open
  std::optional<double> own_difference_percent;  ///< mean of own less teacher's
  std::optional<SelfView> view;                  ///< from least_own_readings on
};

/// Two readings of the same figure.
struct ReadingsAgreement {
  std::string name, unit;
  std::vector<statistics::Pair> pairs;  ///< first: the other reading, second: the teacher's
  statistics::BlandAltman differences;
  statistics::Icc correlation;
};

/// Two readings' points for one criterion, as ordered categories.
struct CriterionAgreement {
  std::string id;
  std::vector<double> levels;  ///< the points that its bands give, ascending
  statistics::Kappa kappa;     ///< quadratic weights
};

/// A case whose mark another reading or another rubric would change.
struct Moved {
  std::string student, name;
  std::optional<double> before, after;  ///< percent
  Standing standing_before = Standing::not_marked, standing_after = Standing::not_marked;
  std::vector<std::string> criteria;  ///< whose points differ; for another rubric: empty
};

/// The teacher's readings beside others of the same films.
struct ReadingsComparison {
  std::size_t cases = 0;                 ///< with both
  std::size_t canals = 0;                ///< found in both by name
  std::size_t canals_unmatched = 0;      ///< in one of them only
  std::vector<ReadingsAgreement> figures;  ///< the mark in percent first
  std::vector<CriterionAgreement> criteria;
  std::vector<Moved> moved;  ///< before: the teacher's mark; the list's order
};

struct Regrade {
  std::vector<Moved> moved;  ///< before: by the other rubric
  std::size_t unmoved = 0;
  std::size_t passed_before = 0, passed_after = 0;
};

struct ClassSummary {
  std::size_t cases = 0, measured = 0, marked = 0, passed = 0, open = 0;
  std::vector<double> percents;
  statistics::Distribution marks;
  std::vector<ClassSpread> figures;
  std::vector<CriterionOutcome> criteria;
  std::vector<FaultCount> faults;        ///< most canals first
  std::vector<Session> sessions;         ///< by date
  std::vector<StudentSummary> students;  ///< by name
  ReadingsComparison self, moderation;
  std::optional<Regrade> regrade;
};

ClassSummary summarise(const std::vector<ClassCase>& cases, const Rubric& rubric);

/// Another mark of the same case than the teacher's differs by no less than this: a second look. In percent
/// of the points; chosen here: one level of one criterion of a three-level form of six points is 17 %, two
/// are 33 %. All three: tests/unit/grade/test_class.cpp.
inline constexpr double large_disagreement_percent = 20.0;
/// Likewise of the terminus: half a millimetre decides between short and flush in published schemes (Elemam et al.,
/// Int J Dent 2015, article 135120), and beyond 2 combined standard uncertainties. Chosen here.
inline constexpr double large_disagreement_mm = 0.5;
/// A fill that stands out by less than three standard deviations of its surroundings. Chosen here.
inline constexpr double weak_contrast = 3.0;

/// Why a case deserves a second look, each reason one sentence; empty: it doesn't.
std::vector<std::string> second_look(const ClassCase& one, const Rubric& rubric);

}  // namespace canalrule
