#pragma once

#include <canalrule/base/point.hpp>
#include <canalrule/base/quantity.hpp>
#include <canalrule/record/feedback.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/record/rubric.hpp>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

/// Marks as they are written down; filled by the room `grade`. Every point leads back to a figure, its
/// uncertainty and the band that gave it.
namespace canalrule {

enum class Sureness {
  sure,               ///< one number of points has the rubric's confidence
  too_close_to_call,  ///< none has: the rubric's rule decided
  not_assessable      ///< the film doesn't give the figure: the rubric's rule decided
};

/// One criterion on one canal.
struct Award {
  std::string canal;
  std::optional<Quantity>
      figure;                  ///< in the unit of the criterion's figure; empty: nothing found, or no figure
  std::vector<double> chance;  ///< of each band, summing to 1; empty where not assessable
  std::optional<std::size_t> band;               ///< that the figure lies in
  std::optional<double> points;                  ///< empty: left out
  double least_points = 0.0, most_points = 0.0;  ///< what the uncertainty leaves open
  Sureness sureness = Sureness::not_assessable;
  std::string reason;  ///< for a person; may be empty
};

struct CriterionMark {
  std::string id;
  std::vector<Award> awards;     ///< one a canal, in the result's order
  std::optional<double> points;  ///< the canals together; empty: left out
  double least_points = 0.0, most_points = 0.0;
  /// The least sure of its canals.
  Sureness sureness = Sureness::not_assessable;
};

/// One deduction or automatic fail.
struct ConditionMark {
  std::string id;
  std::string canal;  ///< the one that decided; empty for what a teacher saw
  std::optional<Quantity> figure;
  std::optional<double> chance;  ///< that the condition holds
  bool applied = false;
  double points = 0.0;                         ///< taken away
  double least_taken = 0.0, most_taken = 0.0;  ///< what the uncertainty leaves open; 1 stands for a fail
  Sureness sureness = Sureness::not_assessable;
  std::string reason;
};

enum class Standing { passed, failed, failed_automatically, not_marked };

struct Mark {
  std::vector<CriterionMark> criteria;         ///< in the rubric's order
  std::vector<ConditionMark> deductions;       ///< in the rubric's order
  std::vector<ConditionMark> automatic_fails;  ///< in the rubric's order
  double points = 0.0;                         ///< earned, less what was taken away, never below 0
  double out_of = 0.0;                         ///< what could have been earned: without what was left out
  double assessed_percent = 0.0;               ///< share of the rubric's points that the film let be assessed
  std::optional<double> percent;               ///< empty: not marked
  double least_percent = 0.0, most_percent = 0.0;  ///< what the uncertainty leaves open
  Standing standing = Standing::not_marked;
  bool standing_is_open = false;  ///< the uncertainty leaves open whether it is a pass
};

/// One question for the talk after a film.
struct Advice {
  Fault fault = Fault::ends_short;
  std::string criterion;  ///< that lost points by it
  std::string canal;
  std::optional<double> from_mm, to_mm;
  std::optional<Third> third;
  std::string title, looks_like, where;  ///< filled in
  std::vector<Question> questions;       ///< those of the technique that was used
};

/// One reading of a case: what it measured and what that earns.
struct MarkedReading {
  Result result;
  Mark mark;
};

/// One row of the class list.
struct ClassCase {
  std::size_t line = 0;
  std::string student, name, date;  ///< date: empty or ISO 8601, YYYY-MM-DD
  Technique technique = Technique::any;
  std::string problem;  ///< why it has no mark at all; empty where it was measured
  std::optional<MarkedReading> teacher;
  std::optional<MarkedReading> student_own, second;
  std::vector<std::string> reading_problems;  ///< why the student's own or the second reading can't be used
  std::optional<Mark> earlier;                ///< by the rubric that is compared with
  std::vector<Advice> advice;
  std::vector<std::string> second_look;  ///< why this film deserves one; empty: it doesn't
};

/// The whole class, with what the marks rest on.
struct ClassMarks {
  std::string program;  ///< and its version
  std::string list_sha256;
  Rubric rubric;
  std::optional<Rubric> earlier;  ///< that is compared with
  std::string feedback_name, feedback_version;
  std::vector<ClassCase> cases;  ///< in the list's order
};

/// Everything as JSON text, `canalrule.marks/1`; the same marks the same bytes.
std::string write_marks(const ClassMarks& marks);

/// For a gradebook, one row a student, by name: how many cases, how many of them marked and passed, and the
/// mean of the marked cases' percents. CSV (RFC 4180).
std::string marks_csv(const ClassMarks& marks);

/// One row a case, in the list's order: its mark and the points of each criterion.
std::string cases_csv(const ClassMarks& marks);

}  // namespace canalrule
